//! What is counted or judged in a field, and compared with a threshold.

/// What a measure is recorded as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Plants or leaves found among those looked at; a per cent alone has no interval.
    Share,
    /// Shares of several visits, added.
    CumulativeShare,
    /// A number.
    Amount,
    /// Yes or no.
    Fact,
}

/// A measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Measure {
    /// Its word: `plants-cut`.
    pub name: &'static str,
    /// What it is, as people read it.
    pub text: &'static str,
    /// Its unit; per cent for shares, empty for facts.
    pub unit: &'static str,
    /// What it is recorded as.
    pub kind: Kind,
}

const fn share(name: &'static str, text: &'static str) -> Measure {
    Measure { name, text, unit: "%", kind: Kind::Share }
}

const fn amount(name: &'static str, text: &'static str, unit: &'static str) -> Measure {
    Measure { name, text, unit, kind: Kind::Amount }
}

const fn fact(name: &'static str, text: &'static str) -> Measure {
    Measure { name, text, unit: "", kind: Kind::Fact }
}

/// Plants cut, or wilted above the cut.
pub const PLANTS_CUT: Measure = share("plants-cut", "plants cut");
/// Plants with leaf feeding.
pub const PLANTS_FED: Measure = share("plants-fed", "plants with feeding");
/// Plants with severe feeding.
pub const PLANTS_SEVERE: Measure = share("plants-severe", "plants with severe feeding");
/// Plants with a live insect.
pub const PLANTS_INFESTED: Measure = share("plants-infested", "plants infested");
/// Plants with two live larvae or more.
pub const PLANTS_WITH_TWO: Measure = share("plants-with-two", "plants with two larvae or more");
/// Plants with an egg mass or small larvae.
pub const EGG_MASSES: Measure = share("egg-masses", "plants with an egg mass or small larvae");
/// The same, added over the visits.
pub const EGG_MASSES_CUMULATIVE: Measure = Measure {
    name: "egg-masses-visits",
    text: "plants with an egg mass, added over the visits",
    unit: "%",
    kind: Kind::CumulativeShare,
};
/// Plants with the tassel out.
pub const TASSELLED: Measure = share("tasselled", "plants tasselled");
/// Plants that have shed pollen.
pub const POLLINATED: Measure = amount("pollinated", "pollinated", "%");
/// Larvae alive in a hundred plants.
pub const LIVE_LARVAE: Measure = amount("live-larvae", "live small larvae in 100 plants", "");
/// Larvae alive and feeding.
pub const LARVAE_FEEDING: Measure = fact("larvae-feeding", "live larvae still feeding");
/// Larvae on each plant.
pub const LARVAE_PER_PLANT: Measure = amount("larvae-per-plant", "larvae", "a plant");
/// Leaf area gone.
pub const LEAF_AREA: Measure = amount("leaf-area", "leaf area gone", "%");
/// Beetles on each plant.
pub const BEETLES_PER_PLANT: Measure = amount("beetles-per-plant", "beetles", "a plant");
/// Beetles on each ear.
pub const BEETLES_PER_EAR: Measure = amount("beetles-per-ear", "beetles", "an ear");
/// Beetles on a foot of row.
pub const BEETLES_PER_FOOT: Measure = amount("beetles-per-foot", "beetles", "a foot of row");
/// Beetles in a trap in a day.
pub const BEETLES_PER_TRAP: Measure = amount("beetles-per-trap", "beetles", "a trap a day");
/// How long the silks are.
pub const SILK_LENGTH: Measure = amount("silk-length", "silks", "cm");
/// Eggs in soil.
pub const EGGS_PER_PINT: Measure = amount("eggs-per-pint", "eggs", "a pint of soil");
/// Roots pruned, on the scale from 0 to 3.
pub const NODE_INJURY: Measure = amount("node-injury", "node-injury score", "");
/// Wireworms at a bait station.
pub const WIREWORMS: Measure = amount("wireworms", "wireworms", "a bait station");
/// Grubs in a foot of row, 6 in to each side and 12 in deep.
pub const GRUBS_PER_FOOT: Measure = amount("grubs-per-foot", "grubs", "a foot of row");
/// Grubs in a cubic foot.
pub const GRUBS_PER_CUBIC_FOOT: Measure = amount("grubs-per-cubic-foot", "true white grubs", "a cubic foot");
/// Grubs in a square foot.
pub const GRUBS_PER_SQUARE_FOOT: Measure = amount("grubs-per-square-foot", "grubs", "a square foot");
/// Bugs on each plant.
pub const BUGS_PER_PLANT: Measure = amount("bugs-per-plant", "bugs", "a plant");
/// Bugs on each ear.
pub const BUGS_PER_EAR: Measure = amount("bugs-per-ear", "bugs", "an ear");
/// Leaves with live mites.
pub const LEAVES_WITH_MITES: Measure = share("leaves-with-mites", "green leaves with live mites");
/// Leaf area damaged by mites.
pub const MITE_DAMAGE: Measure = amount("mite-damage", "leaf area damaged by mites", "%");
/// Mites on a leaflet.
pub const MITES_PER_LEAFLET: Measure = amount("mites-per-leaflet", "mites", "a leaflet");
/// Mites on the scale from 0 to 5.
pub const MITE_SCALE: Measure = amount("mite-scale", "mite score from 0 to 5", "");
/// Leaves discoloured by mites.
pub const DISCOLOURED: Measure = amount("discoloured", "leaves discoloured", "%");
/// Aphids on each plant.
pub const APHIDS: Measure = amount("aphids", "aphids", "a plant");
/// Whether the population rises from visit to visit.
pub const RISING: Measure = fact("rising", "population rising");
/// Leaf area gone, of the whole canopy.
pub const DEFOLIATION: Measure = amount("defoliation", "defoliation of the whole canopy", "%");
/// Pods fed upon.
pub const PODS_FED: Measure = share("pods-fed", "pods fed upon");
/// Leaves damaged by thrips.
pub const TRIFOLIATES: Measure = share("trifoliates", "trifoliate leaves damaged");
/// Thrips on a leaf.
pub const THRIPS: Measure = amount("thrips", "thrips", "a leaf");
/// Grasshoppers at the edge.
pub const HOPPERS_MARGIN: Measure = amount("hoppers-margin", "grasshoppers at the margin", "a square yard");
/// Grasshoppers inside the field.
pub const HOPPERS_FIELD: Measure = amount("hoppers-field", "grasshoppers in the field", "a square yard");
/// Stalks that fail the push or the pinch.
pub const STALKS_FAILING: Measure = share("stalks-failing", "stalks failing the push or pinch test");
/// Moths in two nights.
pub const MOTHS: Measure = amount("moths", "moths in two nights", "");
/// The sum of three winter months' mean temperatures.
pub const WINTER_SUM: Measure =
    amount("winter-sum", "mean temperatures of December, January and February, added", "°F");
