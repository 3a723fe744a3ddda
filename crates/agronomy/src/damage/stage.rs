//! Stages as the hail chart names them.

use std::fmt;
use std::str::FromStr;

use crate::error::Error;

const EXPECTED: &str = "7-leaf to 21-leaf, tassel, silked, silks-brown, pre-blister, blister, early-milk, milk, \
                        late-milk, soft-dough, early-dent, dent, late-dent, nearly-mature";

/// The stages after the last leaf, and what they are called.
const LATE: [(HailStage, &str); 13] = [
    (HailStage::Tassel, "tassel"),
    (HailStage::Silked, "silked"),
    (HailStage::SilksBrown, "silks-brown"),
    (HailStage::PreBlister, "pre-blister"),
    (HailStage::Blister, "blister"),
    (HailStage::EarlyMilk, "early-milk"),
    (HailStage::Milk, "milk"),
    (HailStage::LateMilk, "late-milk"),
    (HailStage::SoftDough, "soft-dough"),
    (HailStage::EarlyDent, "early-dent"),
    (HailStage::Dent, "dent"),
    (HailStage::LateDent, "late-dent"),
    (HailStage::NearlyMature, "nearly-mature"),
];

/// A stage of corn as hail adjusters count it.
///
/// A leaf counts when it is 40 to 50 % exposed and its tip points below the horizontal, and all below it count too
/// (P. Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127). That is one or two more
/// than the number of collars: see [`AdjusterOffset`](crate::damage::AdjusterOffset).
///
/// ```
/// use ligule_agronomy::damage::HailStage;
/// let stage: HailStage = "13-leaf".parse()?;
/// assert_eq!((stage, stage.to_string().as_str()), (HailStage::Leaf(13), "13-leaf"));
/// assert!(stage < HailStage::Tassel && HailStage::Blister < "soft-dough".parse()?);
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HailStage {
    /// That many leaves by the adjuster's count; the chart has 7 to 21.
    Leaf(u8),
    /// Tassel out.
    Tassel,
    /// Silks out.
    Silked,
    /// Silks brown.
    SilksBrown,
    /// Kernels before blister.
    PreBlister,
    /// Kernels blister.
    Blister,
    /// Early milk.
    EarlyMilk,
    /// Milk.
    Milk,
    /// Late milk.
    LateMilk,
    /// Soft dough.
    SoftDough,
    /// First kernels dented.
    EarlyDent,
    /// Dent.
    Dent,
    /// Late dent.
    LateDent,
    /// Nearly mature.
    NearlyMature,
}

impl fmt::Display for HailStage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Leaf(leaves) => write!(f, "{leaves}-leaf"),
            late => f.write_str(LATE.iter().find(|(stage, _)| stage == late).map_or("", |(_, word)| word)),
        }
    }
}

impl FromStr for HailStage {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let plain = text.trim().to_ascii_lowercase().replace([' ', '_'], "-");
        let leaves = plain.strip_suffix("-leaf").and_then(|digits| digits.parse::<u8>().ok());
        leaves
            .filter(|n| (1..=21).contains(n))
            .map(Self::Leaf)
            .or_else(|| LATE.iter().find(|(_, word)| *word == plain).map(|(stage, _)| *stage))
            .ok_or_else(|| Error::UnknownStage { crop: "corn hail-chart", expected: EXPECTED, came: text.to_owned() })
    }
}
