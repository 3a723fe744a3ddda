//! True armyworm and fall armyworm in corn.

use crate::catalogue::Origin;
use crate::thresholds::measure::{
    LARVAE_FEEDING, LARVAE_PER_PLANT, LEAF_AREA, PLANTS_FED, PLANTS_INFESTED, PLANTS_WITH_TWO,
};
use crate::thresholds::threshold::Larvae::Under;
use crate::thresholds::threshold::Limit::{Above, AtLeast, Band, Yes};
use crate::thresholds::threshold::{Threshold, also};

const TRUE: &str = "true-armyworm";
const FALL: &str = "fall-armyworm";
const OHIO: &str = "Ohio State University Extension, C.O.R.N. Newsletter 2017-13, Armyworm in corn and small grains";
const WISCONSIN: &str = "University of Wisconsin IPCM (2018, 2019), True armyworm";
const SIZES: &str = "size limits of this source differ: 3/4 in (2013), 1 in and 1 1/4 in (2018); the smallest is used";
const IOWA: &str = "Iowa State University Extension, True armyworms defoliating corn seedlings, as the press prints it; \
    the size of the larvae from memory, to be verified";

pub(super) const THRESHOLDS: &[Threshold] = &[
    Threshold::corn(
        TRUE,
        &["US-IN"],
        "Purdue University Extension, Pest and Crop Newsletter, Armyworm surprise attacks",
    )
    .named("feeding, larvae numerous")
    .of(PLANTS_FED, Above(50.0))
    .larvae(Under(1.25))
    .with(&[also(LARVAE_FEEDING, Yes)]),
    Threshold::corn(TRUE, &["US-OH"], OHIO)
        .named("watch")
        .of(PLANTS_INFESTED, Band(15.0, 20.0))
        .note("check again in a few days"),
    Threshold::corn(TRUE, &["US-OH"], OHIO)
        .named("infested")
        .of(PLANTS_INFESTED, Above(50.0))
        .larvae(Under(1.25))
        .note("less than 50 % defoliation usually recovers"),
    Threshold::corn(TRUE, &["US-WI"], WISCONSIN)
        .named("two larvae a plant")
        .of(PLANTS_WITH_TWO, AtLeast(25.0))
        .larvae(Under(0.75))
        .note(SIZES),
    Threshold::corn(TRUE, &["US-WI"], WISCONSIN)
        .named("one larva a plant")
        .of(PLANTS_INFESTED, AtLeast(75.0))
        .larvae(Under(0.75))
        .note(SIZES),
    Threshold::corn(TRUE, &["US-WI"], WISCONSIN)
        .named("seedlings injured")
        .of(PLANTS_FED, AtLeast(50.0))
        .larvae(Under(0.75))
        .note(SIZES),
    Threshold::corn(
        TRUE,
        &["US-IL"],
        "University of Illinois Extension (1998), Pest Management and Crop Development Bulletin, no. 16",
    )
    .named("seedlings")
    .of(PLANTS_FED, AtLeast(25.0))
    .with(&[also(LARVAE_FEEDING, Yes)]),
    Threshold::corn(TRUE, &["US-IA", "US-SD"], IOWA)
        .named("VE to V2")
        .of(PLANTS_FED, AtLeast(10.0))
        .stages("VE", "V2")
        .larvae(Under(0.75))
        .origin(Origin::Memory),
    Threshold::corn(
        TRUE,
        &["US-IA"],
        "Iowa State University Extension (12 June 2000), Integrated Crop Management, Armyworms in young corn",
    )
    .named("7 to 8 leaves")
    .of(LARVAE_PER_PLANT, Above(8.0))
    .stages("V7", "V8")
    .larvae(Under(0.75))
    .with(&[also(LEAF_AREA, AtLeast(25.0))]),
    Threshold::corn(
        TRUE,
        &["CA-ON"],
        "Ontario Ministry of Agriculture (June 2011), Armyworm on the move, ONvegetables",
    )
    .named("seedlings")
    .of(PLANTS_FED, AtLeast(10.0))
    .stages("", "V6")
    .note("written for sweet corn; seedling read as to V6 (common practice); small larvae, no number given"),
    Threshold::corn(
        TRUE,
        &["CA-ON"],
        "Ontario Ministry of Agriculture (June 2011), Armyworm on the move, ONvegetables",
    )
    .named("after mid-whorl")
    .of(PLANTS_FED, AtLeast(50.0))
    .stages("V10", "")
    .note("written for sweet corn; mid-whorl read as V10 (common practice); small larvae, no number given"),
    Threshold::corn(
        TRUE,
        &["US-MO", "US-PA"],
        "University of Missouri and Pennsylvania State University Extension, as the press prints them",
    )
    .named("damaged or infested")
    .of(PLANTS_FED, AtLeast(25.0)),
    Threshold::corn(
        FALL,
        &["US-OH", "US-KY"],
        "Ohio State University Extension, Fall armyworm injury, after University of Kentucky ENTFACT-110",
    )
    .named("whorl")
    .of(PLANTS_FED, AtLeast(75.0))
    .larvae(Under(1.25))
    .note("plants with whorl injury, under stress; none is published for small seedlings"),
    Threshold::corn(
        FALL,
        &["US-IL"],
        "University of Illinois Extension (1998), Pest Management and Crop Development Bulletin, no. 16",
    )
    .named("whorl")
    .of(PLANTS_FED, AtLeast(75.0))
    .with(&[also(LARVAE_FEEDING, Yes)])
    .note("none is published for small seedlings"),
];
