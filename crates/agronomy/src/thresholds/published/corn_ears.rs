//! Corn from tassel on: western bean cutworm, stink bugs at the ear, leaf disease, stalks.

use crate::catalogue::Origin;
use crate::thresholds::measure::{
    BUGS_PER_EAR, BUGS_PER_PLANT, EGG_MASSES, EGG_MASSES_CUMULATIVE, PLANTS_INFESTED, STALKS_FAILING, TASSELLED,
};
use crate::thresholds::threshold::Limit::{Above, AtLeast, Band};
use crate::thresholds::threshold::{Threshold, when};

const BEAN_CUTWORM: &str = "western-bean-cutworm";
const VIP: &str = "not needed with a Vip3A trait";
const MEMORY_STATES: &[&str] = &["US-IA", "US-IL", "US-MN"];
const MEMORY_SOURCE: &str = "Iowa, Illinois and Minnesota field guides";

pub(super) const THRESHOLDS: &[Threshold] = &[
    Threshold::corn(BEAN_CUTWORM, &["US-NE"], "University of Nebraska-Lincoln, CropWatch (2025), Western bean cutworm monitoring")
        .named("egg masses")
        .of(EGG_MASSES, Band(5.0, 8.0))
        .with(&[when(TASSELLED, AtLeast(95.0))])
        .note(VIP),
    Threshold::corn(BEAN_CUTWORM, &["US-CO"], "Colorado State University Extension (July 2018), western bean cutworm, as the press prints it")
        .named("egg masses")
        .of(EGG_MASSES, AtLeast(8.0))
        .with(&[when(TASSELLED, AtLeast(95.0))])
        .note("raise it where less is tasselled"),
    Threshold::corn(BEAN_CUTWORM, &["US-KS"], "Kansas State University, Agronomy eUpdate, western bean cutworm")
        .named("egg masses")
        .of(EGG_MASSES, AtLeast(8.0))
        .note("nearly full tassel; raise it where less is tasselled"),
    Threshold::corn(BEAN_CUTWORM, &["US-OH"], "Ohio State University Extension, C.O.R.N. Newsletter, Western bean cutworm update")
        .named("field corn")
        .of(EGG_MASSES, AtLeast(8.0))
        .note("Michigan reports that the states around the Great Lakes took 5 %, added over the visits"),
    Threshold::corn(BEAN_CUTWORM, &["US-OH", "US-MI", "US-IN"], "Michigan State University Extension (2017), Time to scout and manage western bean cutworm: taken by the entomologists of the Great Lakes")
        .named("added over the visits")
        .of(EGG_MASSES_CUMULATIVE, AtLeast(5.0))
        .note("before and at fresh tassel; lower than in the West because ear moulds cost quality"),
    Threshold::corn(BEAN_CUTWORM, &["CA-ON"], "Ontario Ministry of Agriculture (6 July 2017, 8 August 2019), Crop report, Field Crop News")
        .named("added over the visits")
        .of(EGG_MASSES_CUMULATIVE, AtLeast(5.0))
        .note("every 5 days for 3 weeks; the time is that of fresh silk"),
    Threshold::corn(BEAN_CUTWORM, MEMORY_STATES, MEMORY_SOURCE)
        .named("older")
        .of(EGG_MASSES, AtLeast(8.0))
        .origin(Origin::Memory),
    Threshold::corn(BEAN_CUTWORM, MEMORY_STATES, MEMORY_SOURCE)
        .named("recent")
        .of(EGG_MASSES, AtLeast(5.0))
        .origin(Origin::Memory),
    Threshold::corn("stink-bugs-ears", &["US-NE"], "Nebraska thresholds, as another publication reports them")
        .named("grain fill")
        .of(BUGS_PER_PLANT, AtLeast(0.5))
        .stages("R2", "R5")
        .note("1 bug on 2 plants; grain fill read as R2 to R5 (common practice); second hand"),
    Threshold::corn("stink-bugs-ears", &["US-GA"], "University of Georgia Extension (May 2021), Scouting for stink bugs")
        .named("V10 to R1, ear zone")
        .of(BUGS_PER_PLANT, AtLeast(0.125))
        .stages("V10", "R1")
        .note("1 bug on 8 plants"),
    Threshold::corn("stink-bugs-ears", &["US-GA"], "University of Georgia Extension (May 2021), Scouting for stink bugs")
        .named("kernel fill")
        .of(BUGS_PER_EAR, AtLeast(1.0))
        .stages("R2", "R5")
        .note("kernel fill read as R2 to R5 (common practice)"),
    Threshold::corn("gray-leaf-spot", &["US-IA", "US-IL", "US-IN"], "Iowa, Illinois and Indiana guides")
        .named("susceptible hybrid")
        .of(PLANTS_INFESTED, AtLeast(50.0))
        .stages("VT", "R2")
        .origin(Origin::Memory)
        .note("plants with lesions on the third leaf below the ear leaf or higher; intermediate hybrids also ask for \
               35 % residue, corn before, and warm humid weather"),
    Threshold::corn("stalk-lodging", &["US-IA", "US-IL", "US-NE"], "Iowa State University, Evaluating corn fields for standability; University of Illinois Extension (2016), Pinch or push your corn")
        .named("push or pinch test")
        .of(STALKS_FAILING, Above(10.0))
        .note("calls for an early harvest; 100 plants; sources push 30 or 45 degrees from upright"),
];
