//! Insects of seedling corn.

use crate::catalogue::Origin;
use crate::thresholds::measure::{
    BEETLES_PER_PLANT, BUGS_PER_PLANT, GRUBS_PER_CUBIC_FOOT, GRUBS_PER_FOOT, GRUBS_PER_SQUARE_FOOT, LARVAE_FEEDING,
    LIVE_LARVAE, MOTHS, PLANTS_CUT, PLANTS_FED, PLANTS_SEVERE, WINTER_SUM, WIREWORMS,
};
use crate::thresholds::threshold::Larvae::{From, Over, UpTo};
use crate::thresholds::threshold::Limit::{Above, AtLeast, Band, Yes};
use crate::thresholds::threshold::{Larvae, Threshold, also};

const CUTWORM: &str = "black-cutworm";
const MOTHS_OF: &str = "black-cutworm-moths";
const IOWA_2004: &str =
    "Iowa State University Extension (17 May 2004), black cutworm, extension.iastate.edu/Pages/eccrops/jfcu040517.html";
const IOWA_2008: &str = "J. Tollefson and M. E. Rice (19 May 2008), Iowa State University Extension, black cutworm \
    thresholds with corn at 6 $/bu, extension.iastate.edu/Pages/eccrops/jfcu080519.html";
const MINNESOTA: &str = "B. Potter (2016), Scouting corn: the cutworm feeding, University of Minnesota Extension";
const NEBRASKA: &str = "University of Nebraska-Lincoln advice on black cutworm, as another publication reports it";
const ILLINOIS: &str = "University of Illinois Extension (2005), The Bulletin, article 252, black cutworm";
const INDIANA: &str = "an Indiana adviser's thresholds of 2012, as another publication reports them";
const KENTUCKY: &str = "University of Kentucky Entomology, Scout for black cutworms on young corn plants, as a tillage \
    magazine prints it";
const ONTARIO: &str = "Ontario Ministry of Agriculture and University of Guelph, Ridgetown (May 2015), Watch for black \
    cutworm injury, Field Crop News";
/// 2.5 cm.
const ONTARIO_LARVA: f64 = 2.5 / 2.54;

pub(super) const THRESHOLDS: &[Threshold] = &[
    Threshold::corn(CUTWORM, &["US-IA"], IOWA_2004)
        .named("classic, small larvae")
        .of(PLANTS_CUT, Band(2.0, 3.0))
        .stages("", "V5")
        .larvae(UpTo(0.75))
        .note("larvae between 3/4 and 1 in are not spoken of"),
    Threshold::corn(CUTWORM, &["US-IA"], IOWA_2004)
        .named("classic, large larvae")
        .of(PLANTS_CUT, AtLeast(5.0))
        .stages("", "V5")
        .larvae(From(1.0)),
    Threshold::corn(CUTWORM, &["US-IA"], IOWA_2008)
        .named("2008 revision, small larvae")
        .of(PLANTS_CUT, Band(1.0, 2.0))
        .stages("", "V5")
        .larvae(Larvae::Under(0.75))
        .note("for corn at 6 $/bu; larvae between 3/4 and 1 in are not spoken of"),
    Threshold::corn(CUTWORM, &["US-IA"], IOWA_2008)
        .named("2008 revision, large larvae")
        .of(PLANTS_CUT, AtLeast(3.0))
        .stages("", "V5")
        .larvae(Over(1.0))
        .note("for corn at 6 $/bu"),
    Threshold::corn(CUTWORM, &["US-MN"], MINNESOTA)
        .named("small larvae")
        .of(PLANTS_CUT, Band(2.0, 3.0))
        .stages("", "V6")
        .larvae(Larvae::Under(0.75))
        .note("plants cut or wilted; most at risk with 3 leaves or fewer"),
    Threshold::corn(CUTWORM, &["US-MN"], MINNESOTA)
        .named("larger larvae")
        .of(PLANTS_CUT, AtLeast(5.0))
        .stages("", "V6")
        .larvae(From(0.75))
        .note("plants cut or wilted"),
    Threshold::corn(CUTWORM, &["US-NE"], NEBRASKA)
        .named("small larvae")
        .of(PLANTS_CUT, Band(2.0, 3.0))
        .larvae(Larvae::Under(0.75))
        .note("second hand"),
    Threshold::corn(CUTWORM, &["US-NE"], NEBRASKA)
        .named("large larvae")
        .of(PLANTS_CUT, AtLeast(5.0))
        .larvae(Over(0.75))
        .note("second hand"),
    Threshold::corn(CUTWORM, &["US-IL"], ILLINOIS)
        .named("larvae feeding")
        .of(PLANTS_CUT, Band(3.0, 5.0))
        .stages("", "V5")
        .with(&[also(LARVAE_FEEDING, Yes)]),
    Threshold::corn(CUTWORM, &["US-IN"], INDIANA)
        .named("larvae found")
        .of(PLANTS_CUT, Band(3.0, 5.0))
        .with(&[also(LARVAE_FEEDING, Yes)])
        .note("second hand; plants damaged, not only cut"),
    Threshold::corn(CUTWORM, &["US-KY"], KENTUCKY)
        .named("cut and alive")
        .of(PLANTS_CUT, AtLeast(3.0))
        .with(&[also(LIVE_LARVAE, AtLeast(2.0))])
        .note("the larvae are those of 1 in or less; second hand"),
    Threshold::corn(CUTWORM, &["CA-ON"], ONTARIO)
        .named("leaf feeding")
        .of(PLANTS_FED, AtLeast(10.0))
        .stages("V1", "V4")
        .larvae(Larvae::Under(ONTARIO_LARVA))
        .note("insecticides work poorly on larvae over 2.5 cm"),
    Threshold::corn(CUTWORM, &["CA-ON"], ONTARIO)
        .named("cutting")
        .of(PLANTS_CUT, AtLeast(3.0))
        .stages("", "V4")
        .larvae(Larvae::Under(ONTARIO_LARVA))
        .note("the risk is over at V5; insecticides work poorly on larvae over 2.5 cm"),
    Threshold::corn(MOTHS_OF, &["US-IL", "US-IN"], "University of Illinois Extension, The Bulletin, article 252; Purdue University Extension (2022)")
        .named("intense capture")
        .of(MOTHS, AtLeast(9.0))
        .note("a pheromone wing trap with a sticky bottom; starts the degree days"),
    Threshold::corn(MOTHS_OF, &["US-IA"], "Iowa State University Extension, as the press reports it")
        .named("intense capture")
        .of(MOTHS, AtLeast(8.0))
        .note("a pheromone wing trap with a sticky bottom; starts the degree days"),
    Threshold::corn(MOTHS_OF, &["US-MN"], "University of Minnesota Extension (2016), black cutworm")
        .named("intense capture")
        .of(MOTHS, AtLeast(8.0))
        .note("8 were called significant and 5 not enough"),
    Threshold::corn("wireworms", &["US-IL", "US-DE"], "University of Illinois Extension (1999), Pest Management and Crop Development Bulletin, no. 4; University of Delaware, Weekly Crop Update")
        .named("bait stations before planting")
        .of(WIREWORMS, AtLeast(1.0))
        .note("mean of the stations; decides before planting only, no rescue treatment exists"),
    Threshold::corn("white-grubs", &["US-MO"], "University of Missouri IPM (2008), cropPest 349")
        .named("foot of row")
        .of(GRUBS_PER_FOOT, Band(1.0, 2.0))
        .note("6 in to each side, 12 in deep; decides before planting only"),
    Threshold::corn("white-grubs", &["US-IA", "US-ND"], "Iowa State University Extension (15 April 1994), Integrated Crop Management, with North Dakota's number")
        .named("true white grubs")
        .of(GRUBS_PER_CUBIC_FOOT, AtLeast(1.0))
        .note("grubs with a life of 3 years; decides before planting only"),
    Threshold::corn("white-grubs", &["US-IL"], "University of Illinois Extension (1998), Pest Management and Crop Development Bulletin, no. 3")
        .named("true white grubs present")
        .of(GRUBS_PER_CUBIC_FOOT, Above(0.0))
        .note("annual grubs do not count; decides before planting only"),
    Threshold::corn("white-grubs", &["CA-ON"], "European chafer, other grubs higher")
        .named("European chafer")
        .of(GRUBS_PER_SQUARE_FOOT, AtLeast(2.0))
        .origin(Origin::Memory)
        .note("decides before planting only"),
    Threshold::corn("corn-flea-beetle", &["US-IA"], "Iowa State University Extension, Corn flea beetle feeding on seedlings, as a tillage magazine prints it")
        .named("field corn")
        .of(PLANTS_SEVERE, AtLeast(50.0))
        .stages("", "V4")
        .with(&[also(BEETLES_PER_PLANT, AtLeast(5.0))]),
    Threshold::corn("corn-flea-beetle", &["US-IL"], "University of Illinois Extension (1999), Pest Management and Crop Development Bulletin, no. 7")
        .named("seed corn or susceptible inbred")
        .of(PLANTS_SEVERE, AtLeast(10.0))
        .stages("", "V4")
        .with(&[also(BEETLES_PER_PLANT, Band(2.0, 3.0))]),
    Threshold::corn("corn-flea-beetle", &["US-IA", "US-IL"], "Iowa State University Extension (7 May 2001), Integrated Crop Management, corn flea beetle")
        .named("mild winter")
        .of(WINTER_SUM, Above(90.0))
        .note("favours the survival of the beetles that carry Stewart's wilt; no threshold of treatment"),
    Threshold::corn("stink-bugs", &["US-GA"], "University of Georgia Extension (May 2021), Scouting for stink bugs")
        .named("seedlings")
        .of(PLANTS_FED, AtLeast(10.0))
        .note("plants damaged"),
    Threshold::corn("stink-bugs", &["US-NE"], "Nebraska thresholds, as another publication reports them")
        .named("before pollination")
        .of(BUGS_PER_PLANT, AtLeast(0.25))
        .stages("", "VT")
        .note("1 bug on 4 plants; second hand"),
];
