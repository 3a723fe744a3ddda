//! Corn rootworm adults, and beetles that clip silks.

use crate::catalogue::Origin;
use crate::thresholds::measure::{
    BEETLES_PER_EAR, BEETLES_PER_PLANT, BEETLES_PER_TRAP, EGGS_PER_PINT, NODE_INJURY, POLLINATED, SILK_LENGTH,
};
use crate::thresholds::threshold::Limit::{Above, AtLeast, AtMost, Band, Under};
use crate::thresholds::threshold::{Threshold, also, when};

const ROOTWORM: &str = "corn-rootworm";
const CLIPPING: &str = "corn-rootworm-silk-clipping";
const ILLINOIS: &str = "University of Illinois Extension (2011), The Bulletin, article 1544";
const ONTARIO: &str = "Ontario Ministry of Agriculture (2019), Peak season for insect pressure in Ontario, as the press \
    prints it";
const NEXT_YEAR: &str = "tells of next year's corn, not of a treatment now; whole-plant counts";

pub(super) const THRESHOLDS: &[Threshold] = &[
    Threshold::corn(ROOTWORM, &["US-IL"], ILLINOIS)
        .named("corn after corn")
        .of(BEETLES_PER_PLANT, Band(0.75, 1.0))
        .note(NEXT_YEAR),
    Threshold::corn(ROOTWORM, &["US-IL"], ILLINOIS)
        .named("first-year corn")
        .of(BEETLES_PER_PLANT, AtLeast(0.5))
        .note(NEXT_YEAR),
    Threshold::corn(ROOTWORM, &["US-NE"], "University of Nebraska-Lincoln rootworm thresholds")
        .named("corn after corn")
        .of(BEETLES_PER_PLANT, AtLeast(0.75))
        .origin(Origin::Memory)
        .note(NEXT_YEAR),
    Threshold::corn(ROOTWORM, &["US-NE"], "University of Nebraska-Lincoln rootworm thresholds")
        .named("first-year corn")
        .of(BEETLES_PER_PLANT, AtLeast(0.5))
        .origin(Origin::Memory)
        .note(NEXT_YEAR),
    Threshold::corn(
        ROOTWORM,
        &["US-IA"],
        "A. Dean and E. Hodgson (2020), New trapping network for corn rootworm, Iowa State University",
    )
    .named("sticky traps in corn")
    .of(BEETLES_PER_TRAP, AtLeast(2.0))
    .note("either species, unbaited, at the height of the ear; tells of next year's corn"),
    Threshold::corn("corn-rootworm-soybean-traps", &["US-IL"], "University of Illinois, Agronomy Day (2003)")
        .named("sticky traps in soybean")
        .of(BEETLES_PER_TRAP, AtLeast(5.0))
        .note("12 unbaited traps, 4 weeks from late July; the rootworm that lays eggs in soybean"),
    Threshold::corn(
        ROOTWORM,
        &["US-IL"],
        "University of Illinois Extension (1997), Pest Management and Crop Development Bulletin, no. 13",
    )
    .named("eggs in soil")
    .of(EGGS_PER_PINT, AtLeast(5.0))
    .note("to 4 in deep"),
    Threshold::corn(
        ROOTWORM,
        &["US-IA"],
        "Iowa State University Extension (2019), corn rootworm egg hatch, as the press prints it",
    )
    .named("root injury")
    .of(NODE_INJURY, Above(0.5))
    .note("mean of the field; change management for next year"),
    Threshold::corn(
        CLIPPING,
        &["US-NE"],
        "University of Nebraska-Lincoln, CropWatch (2018), Be ready to scout western corn rootworm beetles",
    )
    .named("beetles on ears")
    .of(BEETLES_PER_EAR, Band(5.0, 10.0))
    .with(&[also(SILK_LENGTH, Under(1.27)), when(POLLINATED, AtMost(50.0))])
    .note("silks under 1/2 in at 25 to 50 % pollen shed"),
    Threshold::corn(CLIPPING, &["CA-ON"], ONTARIO)
        .named("adults on plants")
        .of(BEETLES_PER_PLANT, AtLeast(10.0))
        .with(&[also(SILK_LENGTH, AtMost(1.25)), when(POLLINATED, Under(50.0))]),
    Threshold::corn("japanese-beetle-silk-clipping", &["CA-ON"], ONTARIO)
        .named("beetles on plants")
        .of(BEETLES_PER_PLANT, AtLeast(3.0))
        .with(&[also(SILK_LENGTH, AtMost(1.25)), when(POLLINATED, Under(50.0))]),
];
