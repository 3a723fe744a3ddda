//! Leaf loss of soybean, by all that chew together, over the whole canopy and the whole field.

use crate::catalogue::Origin;
use crate::thresholds::measure::DEFOLIATION;
use crate::thresholds::threshold::Limit::{AtLeast, Band};
use crate::thresholds::threshold::{Limit, Threshold};

const IOWA: &str = "E. Hodgson, Scouting guidelines for soybean defoliators, Iowa State University Extension";
const IOWA_HOPPER: &str = "Iowa State University Extension, grasshoppers in soybean, as the press prints it";
const ILLINOIS: &str = "University of Illinois Extension (1998), Pest Management and Crop Development Bulletin, no. 20";
const OHIO: &str = "Ohio State University Extension (2024), Soybean defoliation: how much is too much?";
const OHIO_OLDER: &str = "Ohio State University Extension (June 2008), South Central Ohio agronomy news";
const MINNESOTA: &str =
    "University of Minnesota Southwest Research and Outreach Center (2022), IPM stuff 22-13, grasshoppers";
const ONTARIO: &str = "Ontario thresholds, as another publication reports them";
const CAROLINA: &str = "North Carolina State University Extension, Beans gone wild, defoliation";
const NEBRASKA: &str = "University of Nebraska-Lincoln, NebGuide G2259, as reported 2020";

const fn leaves(
    region: &'static [&'static str],
    name: &'static str,
    stages: (&'static str, &'static str),
    limit: Limit,
    source: &'static str,
) -> Threshold {
    Threshold::soybean("soybean-defoliation", region, source)
        .named(name)
        .of(DEFOLIATION, limit)
        .stages(stages.0, stages.1)
}

/// The stages before the first flower.
const BEFORE_BLOOM: (&str, &str) = ("VE", "V30");

pub(super) const THRESHOLDS: &[Threshold] = &[
    leaves(&["US-IA"], "before bloom", BEFORE_BLOOM, AtLeast(30.0), IOWA),
    leaves(&["US-IA"], "from bloom on", ("R1", "R8"), AtLeast(20.0), IOWA),
    leaves(&["US-IA"], "grasshoppers, before bloom", BEFORE_BLOOM, AtLeast(40.0), IOWA_HOPPER),
    leaves(&["US-IA"], "grasshoppers, from bloom on", ("R1", "R8"), AtLeast(20.0), IOWA_HOPPER),
    leaves(&["US-IL"], "before bloom", BEFORE_BLOOM, Band(35.0, 40.0), ILLINOIS),
    leaves(&["US-IL"], "bloom to pod fill", ("R1", "R6"), Band(20.0, 25.0), ILLINOIS).note("tolerant after full seed"),
    leaves(&["US-OH"], "to R2", ("VE", "R2"), AtLeast(30.0), OHIO),
    leaves(&["US-OH"], "pod set and fill", ("R3", "R5"), AtLeast(10.0), OHIO),
    leaves(&["US-OH"], "R6", ("R6", "R6"), AtLeast(15.0), OHIO),
    leaves(&["US-OH"], "older, before bloom", BEFORE_BLOOM, AtLeast(40.0), OHIO_OLDER),
    leaves(&["US-MN"], "before bloom", BEFORE_BLOOM, AtLeast(30.0), "Minnesota thresholds").origin(Origin::Memory),
    leaves(&["US-MN"], "from bloom on", ("R1", "R8"), AtLeast(20.0), MINNESOTA),
    leaves(&["CA-ON"], "before bloom", BEFORE_BLOOM, AtLeast(30.0), "Ontario thresholds").origin(Origin::Memory),
    leaves(&["CA-ON"], "bloom to pod fill", ("R1", "R4"), AtLeast(15.0), ONTARIO).note("second hand"),
    leaves(&["CA-ON"], "pod fill to maturity", ("R5", "R8"), AtLeast(25.0), ONTARIO)
        .note("unless pods are eaten; second hand"),
    leaves(&["US-NC"], "to 2 weeks before bloom", BEFORE_BLOOM, AtLeast(30.0), CAROLINA),
    leaves(&["US-NC"], "from 2 weeks before bloom", ("R1", "R8"), AtLeast(15.0), CAROLINA)
        .note("holds from 2 weeks before R1 to R7 or R8: in late V stages compare with this one too"),
    leaves(&["US-NE"], "before bloom", BEFORE_BLOOM, AtLeast(30.0), NEBRASKA)
        .note("where it is expected to be passed and insects are present"),
    leaves(&["US-NE"], "from bloom on", ("R1", "R8"), AtLeast(20.0), NEBRASKA).note("local advisers use 15 to 25"),
];
