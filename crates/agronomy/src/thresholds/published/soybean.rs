//! Insects and mites of soybean, leaf loss aside.

use crate::catalogue::Origin;
use crate::thresholds::measure::{
    APHIDS, BEETLES_PER_FOOT, DISCOLOURED, HOPPERS_FIELD, HOPPERS_MARGIN, MITE_SCALE, MITES_PER_LEAFLET,
    PLANTS_INFESTED, PODS_FED, RISING, THRIPS, TRIFOLIATES,
};
use crate::thresholds::threshold::Limit::{AtLeast, Band, Yes};
use crate::thresholds::threshold::{Threshold, also};

const BEETLE: &str = "University of Illinois Extension, The Bulletin, articles 529 (2006) and 1645 (2012), after T. E. \
    Hunt, L. G. Higley, J. F. Witkowski (1995), Agronomy Journal 87:183-188";
const MITES: &str = "spider-mites-soybean";
const HOPPERS: &str = "grasshoppers";
const NORTH_DAKOTA: &str = "North Dakota State University, Crop and Pest Report (10 June 2021), Grasshopper update";

pub(super) const THRESHOLDS: &[Threshold] = &[
    Threshold::soybean("soybean-aphid", &["US-IA", "US-MN", "US-NE", "US-SD", "US-MI", "US-MO"], "South Dakota State University Extension and Michigan State University Extension, soybean aphid thresholds, after D. W. Ragsdale et al. (2007), Journal of Economic Entomology 100:1258-1267")
        .named("mean of the field")
        .of(APHIDS, AtLeast(250.0))
        .stages("R1", "R5")
        .with(&[also(PLANTS_INFESTED, AtLeast(80.0)), also(RISING, Yes)])
        .note("the mean of the field, not of hot spots; a higher price lowers the injury level, not this threshold; no \
               routine treatment at R6 (from memory)"),
    Threshold::soybean("soybean-aphid", &["CA-ON"], "Ontario Ministry of Agriculture (17 August 2017), Field crop report, Field Crop News")
        .named("mean of the field")
        .of(APHIDS, AtLeast(250.0))
        .stages("R1", "R5")
        .with(&[also(RISING, Yes)]),
    Threshold::soybean("bean-leaf-beetle", &["US-IL"], BEETLE)
        .named("VC to V1")
        .of(BEETLES_PER_FOOT, AtLeast(16.0))
        .stages("VC", "V1")
        .note("without regard to bean pod mottle virus"),
    Threshold::soybean("bean-leaf-beetle", &["US-IL"], BEETLE)
        .named("V2 and later")
        .of(BEETLES_PER_FOOT, AtLeast(39.0))
        .stages("V2", "V30")
        .note("without regard to bean pod mottle virus"),
    Threshold::soybean("thrips-soybean", &["CA-ON"], "Ontario Ministry of Agriculture (July 2018), Hot dry weather increasing risk, Field Crop News")
        .named("early season")
        .of(TRIFOLIATES, AtLeast(75.0))
        .with(&[also(THRIPS, AtLeast(8.0))])
        .note("borrowed numbers"),
    Threshold::soybean(MITES, &["US-MN", "US-OH"], "University of Minnesota scale from 0 to 5, as a tillage magazine prints it (2024)")
        .named("score")
        .of(MITE_SCALE, AtLeast(3.0))
        .note("3: heavy stippling below, some in the middle, colonies above; 4: loss is under way"),
    Threshold::soybean(MITES, &["CA-ON"], "Ontario Ministry of Agriculture (July 2018), Hot dry weather increasing risk, Field Crop News")
        .named("before pod fill")
        .of(MITES_PER_LEAFLET, AtLeast(4.0))
        .stages("", "R4"),
    Threshold::soybean(MITES, &["US-IL"], "M. Gray, University of Illinois, as another publication reports him")
        .named("pod fill")
        .of(DISCOLOURED, Band(10.0, 15.0))
        .stages("R5", "R6"),
    Threshold::soybean(HOPPERS, &["US-ND"], NORTH_DAKOTA)
        .named("nymphs, margin")
        .of(HOPPERS_MARGIN, Band(50.0, 75.0)),
    Threshold::soybean(HOPPERS, &["US-ND"], NORTH_DAKOTA)
        .named("nymphs, field")
        .of(HOPPERS_FIELD, Band(30.0, 45.0)),
    Threshold::soybean(HOPPERS, &["US-ND"], "North Dakota State University, grasshopper thresholds")
        .named("adults, margin")
        .of(HOPPERS_MARGIN, Band(21.0, 40.0))
        .origin(Origin::Memory),
    Threshold::soybean(HOPPERS, &["US-ND"], "North Dakota State University, grasshopper thresholds")
        .named("adults, field")
        .of(HOPPERS_FIELD, Band(8.0, 14.0))
        .origin(Origin::Memory),
    Threshold::soybean(HOPPERS, &["US-IA"], "Iowa State University Extension (1 July 2002), Integrated Crop Management, western grasshoppers")
        .named("old count")
        .of(HOPPERS_FIELD, Band(15.0, 20.0))
        .note("Iowa has since rejected counts: judge the defoliation"),
    Threshold::soybean(HOPPERS, &["US-MN"], "University of Minnesota Southwest Research and Outreach Center (2022), IPM stuff 22-13")
        .named("pods")
        .of(PODS_FED, AtLeast(10.0))
        .stages("R3", "R6"),
];
