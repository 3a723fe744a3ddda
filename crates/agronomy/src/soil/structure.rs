//! Structure: grade, shape and size of the units in which soil breaks.

use crate::error::{Error, within};

/// How distinct the units are.
///
/// *Source:* P. J. Schoeneberger, D. A. Wysocki, E. C. Benham, and Soil Survey Staff (2012), Field book for describing
/// and sampling soils, version 3.0; the descriptions from memory, to be verified, and as given for weak, moderate and
/// strong by University of California, Santa Cruz, Teaching organic farming and gardening, unit 2.1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// 0: no units, single grain or massive.
    Structureless,
    /// 1: barely seen in place.
    Weak,
    /// 2: well formed and evident in place.
    Moderate,
    /// 3: distinct in place, separates cleanly.
    Strong,
}

words!(Grade, "grade", {
    Structureless => "structureless",
    Weak => "weak",
    Moderate => "moderate",
    Strong => "strong",
});

impl Grade {
    /// Returns its code, 0 to 3.
    ///
    /// ```
    /// assert_eq!(ligule_agronomy::soil::Grade::Strong.code(), 3);
    /// ```
    pub const fn code(self) -> u8 {
        match self {
            Self::Structureless => 0,
            Self::Weak => 1,
            Self::Moderate => 2,
            Self::Strong => 3,
        }
    }

    /// What is seen.
    pub(super) const fn signs(self) -> &'static str {
        match self {
            Self::Structureless => "no units: single grain or massive",
            Self::Weak => "barely seen in place",
            Self::Moderate => "well formed and evident in place",
            Self::Strong => "distinct in place, separates cleanly",
        }
    }
}

/// The type of structure: the shape of the units. Structureless soil is single grain or massive and has no size.
///
/// *Source:* Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0, from memory, to be
/// verified.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// Small, rounded.
    Granular,
    /// Flat, lying; by thickness. With its depth noted, the usual sign of a tillage pan.
    Platy,
    /// Blocks with sharp edges.
    AngularBlocky,
    /// Blocks with rounded edges.
    SubangularBlocky,
    /// Lens-like, lying.
    Lenticular,
    /// Standing prisms with flat tops.
    Prismatic,
    /// Standing prisms with rounded tops.
    Columnar,
    /// Wedges with slickensides.
    Wedge,
}

words!(Shape, "type", {
    Granular => "granular",
    Platy => "platy",
    AngularBlocky => "angular-blocky",
    SubangularBlocky => "subangular-blocky",
    Lenticular => "lenticular",
    Prismatic => "prismatic",
    Columnar => "columnar",
    Wedge => "wedge",
});

/// The size of structure units. Platy structure is called thin and thick instead of fine and coarse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SizeClass {
    /// The smallest.
    VeryFine,
    /// Small.
    Fine,
    /// Middling.
    Medium,
    /// Large.
    Coarse,
    /// Very large.
    VeryCoarse,
    /// Half a metre and more; only standing types.
    ExtremelyCoarse,
}

words!(SizeClass, "size", {
    VeryFine => "very fine",
    Fine => "fine",
    Medium => "medium",
    Coarse => "coarse",
    VeryCoarse => "very coarse",
    ExtremelyCoarse => "extremely coarse",
});

/// Whose size classes are read. They differ at the fine end: the Canadian list has no very fine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SizeSystem {
    /// *Source:* Schoeneberger et al. (2012), Field book for describing and sampling soils, version 3.0; five classes
    /// as printed by University of California, Santa Cruz, Teaching organic farming and gardening, unit 2.1, table 5;
    /// the class of half a metre and more from memory, to be verified.
    FieldBook,
    /// *Source:* Agriculture and Agri-Food Canada, Canadian Soil Information Service, glossary, table 3.
    Canadian,
}

words!(SizeSystem, "system", { FieldBook => "field-book", Canadian => "canadian" });

/// The upper limits of size classes, mm, from the smallest class on; the class after the last has none.
type Limits = (&'static [f64], &'static [SizeClass]);

pub(super) const fn limits(system: SizeSystem, shape: Shape) -> Limits {
    use SizeClass::{Coarse, ExtremelyCoarse, Fine, Medium, VeryCoarse, VeryFine};
    const FIVE: &[SizeClass] = &[VeryFine, Fine, Medium, Coarse, VeryCoarse];
    const SIX: &[SizeClass] = &[VeryFine, Fine, Medium, Coarse, VeryCoarse, ExtremelyCoarse];
    match (system, shape) {
        (SizeSystem::FieldBook, Shape::Granular | Shape::Platy) => (&[1.0, 2.0, 5.0, 10.0], FIVE),
        (SizeSystem::FieldBook, Shape::AngularBlocky | Shape::SubangularBlocky | Shape::Lenticular) => {
            (&[5.0, 10.0, 20.0, 50.0], FIVE)
        }
        (SizeSystem::FieldBook, Shape::Prismatic | Shape::Columnar | Shape::Wedge) => {
            (&[10.0, 20.0, 50.0, 100.0, 500.0], SIX)
        }
        (SizeSystem::Canadian, Shape::Granular) => (&[2.0, 5.0, 10.0], &[Fine, Medium, Coarse]),
        (SizeSystem::Canadian, Shape::Platy) => (&[2.0, 5.0], &[Fine, Medium, Coarse]),
        (SizeSystem::Canadian, Shape::AngularBlocky | Shape::SubangularBlocky) => {
            (&[10.0, 20.0, 50.0], &[Fine, Medium, Coarse, VeryCoarse])
        }
        (SizeSystem::Canadian, Shape::Prismatic | Shape::Columnar) => {
            (&[20.0, 50.0, 100.0], &[Fine, Medium, Coarse, VeryCoarse])
        }
        (SizeSystem::Canadian, Shape::Lenticular | Shape::Wedge) => (&[], &[]),
    }
}

/// Returns the size class of a structure unit.
///
/// *Units:* millimetres, of the least dimension: thickness of plates, diameter of others. *Holds:* over 0 to 5,000 mm;
/// a unit exactly on a limit belongs to the larger class. *Errors:* [`Error::OutOfRange`]; [`Error::OutsideTable`]
/// where the system has no class (Canadian granular over 10 mm, lenticular, wedge). *Source:* that of [`SizeSystem`].
///
/// Blocks of 15 mm are medium in both, granules of 1.5 mm fine, prisms of 15 mm fine:
/// ```
/// use ligule_agronomy::soil::{Shape, SizeClass, SizeSystem, size_class};
/// assert_eq!(size_class(SizeSystem::FieldBook, Shape::AngularBlocky, 15.0)?, SizeClass::Medium);
/// assert_eq!(size_class(SizeSystem::Canadian, Shape::Granular, 1.5)?, SizeClass::Fine);
/// assert_eq!(size_class(SizeSystem::FieldBook, Shape::Prismatic, 15.0)?, SizeClass::Fine);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn size_class(system: SizeSystem, shape: Shape, millimetres: f64) -> Result<SizeClass, Error> {
    let size = within("the size of a structure unit", millimetres, f64::MIN_POSITIVE, 5000.0, " mm")?;
    let (limits, classes) = limits(system, shape);
    let place = limits.iter().filter(|limit| size >= **limit).count();
    classes.get(place).copied().ok_or_else(|| Error::OutsideTable {
        table: "the size classes of structure",
        what: "sizes",
        covers: limits.last().map_or_else(|| format!("none for {}", shape.word()), |last| format!("under {last} mm")),
        came: format!("{size} mm"),
    })
}
