//! Where the formulas and rules of an assessment come from.

use ligule_advice::Citation;
use ligule_agronomy::catalogue::Origin;
use ligule_agronomy::damage::{Crop, Event, days_to_wait};

fn cite(text: &str, year: i32, basis: &str) -> Citation {
    Citation { text: text.to_owned(), year, basis: basis.to_owned() }
}

/// Returns the sources of a built-in table, each once, as the table marks them.
///
/// *Panics:* where there is no such table; a test holds every name that is asked for.
pub(super) fn of_table(name: &str) -> Vec<Citation> {
    let tables = ligule_agronomy::catalogue::tables();
    let table = tables.iter().find(|table| table.name == name).expect("the name of a built-in table");
    let mut cited: Vec<Citation> = Vec::new();
    for row in &table.rows {
        if cited.iter().all(|known| known.text != row.source) {
            cited.push(cite(row.source, 0, basis(row.origin)));
        }
    }
    cited
}

/// Returns who says how long to wait after an event before judging which plants live.
pub(super) fn waits(crop: Crop, event: Event) -> Vec<Citation> {
    days_to_wait(crop, event).map(|wait| cite(wait.source, 0, basis(wait.origin))).collect()
}

fn basis(origin: Origin) -> &'static str {
    match origin {
        Origin::Page => "page",
        Origin::Derived => "derived",
        Origin::Practice => "practice",
        Origin::Memory => "memory",
    }
}

pub(super) fn plants_per_area() -> Citation {
    cite("Plants per acre from a length of row or the area of a hoop: 43,560 square feet in an acre", 0, "derived")
}

pub(super) fn t_interval() -> Citation {
    cite(
        "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, sections 7.2.2.1 and 7.2.2.2: t interval of a mean, sample size",
        2012,
        "page",
    )
}

pub(super) fn wilson() -> Citation {
    let text = "E. B. Wilson (1927), Probable inference, the law of succession, and statistical inference, J. American Statistical \
                Association 22:209-212: interval of a share";
    cite(text, 1927, "page")
}

pub(super) fn few_counts() -> Citation {
    cite("An interval from fewer than four counts is not leaned on", 0, "practice")
}

pub(super) fn leaf_collars() -> Citation {
    cite(
        "R. L. Nielsen (2019), Determining Corn Leaf Stages, Purdue University: leaves with a visible collar",
        2019,
        "page",
    )
}

pub(super) fn field_stage() -> Citation {
    let text = "P. Thomison, Identifying Vegetative Growth Stages in Corn, Ohio State University AGF-127: a field is at a stage when at \
                least half of its plants are";
    cite(text, 0, "page")
}

pub(super) fn behind_the_median() -> Citation {
    cite("A plant two or more collars behind the middle plant is called late", 0, "practice")
}

pub(super) fn crown_depth() -> Citation {
    let text = "G. LaBarge (2023), Corn planting depth and emergence problems, Ohio State University: depth is the length from seed to \
                crown and 3/4 in";
    cite(text, 2023, "page")
}

pub(super) fn depth_limits() -> Citation {
    cite("Seeds more than 1/4 in and 1/2 in off the intended depth are counted", 0, "practice")
}

pub(super) fn shallow_seed() -> Citation {
    cite(
        "E. Nafziger, University of Illinois, quoted 17 April 2013 on corn emergence: seed never under about 1 1/4 in",
        2013,
        "page",
    )
}

pub(super) fn degree_days() -> Citation {
    cite(
        "R. L. Nielsen, Heat Unit Concepts Related to Corn Development, Purdue University: limits of 86 and 50 °F",
        0,
        "page",
    )
}

pub(super) fn missing_days() -> Citation {
    cite("No stage is forecast when more than 5 % of the days have no temperatures", 0, "practice")
}

pub(super) fn leaf_rate_purdue() -> Citation {
    let text = "R. L. Nielsen (2019), Predict Leaf Stage Development in Corn Using Thermal Time, Purdue University: 82 degree days (°F) a \
                collar to V10, then 50; emergence at 115";
    cite(text, 2019, "page")
}

pub(super) fn leaf_rate_iowa() -> Citation {
    let text = "L. J. Abendroth and others (2011), Corn Growth and Development, Iowa State University PMR 1009, as quoted by P. Thomison: \
                84 degree days (°F) a collar to V10, then 56";
    cite(text, 2011, "page")
}

pub(super) fn soybean_stages() -> Citation {
    let text = "W. R. Fehr and C. E. Caviness (1977), Stages of Soybean Development, Iowa State University Special Report 80: nodes with \
                fully developed leaves";
    cite(text, 1977, "page")
}

pub(super) fn bbch_maize() -> Citation {
    let text = "U. Meier (ed.) (2001), Growth Stages of Mono- and Dicotyledonous Plants, BBCH Monograph, 2nd edition, maize; that the tip \
                of the next leaf may count, and that stem codes come first, is from memory";
    cite(text, 2001, "page")
}

pub(super) fn bbch_soybean() -> Citation {
    let text = "P. Munger and others (1997), The phenological growth stages of soybean, J. Agronomy and Crop Science 179:209-217";
    cite(text, 1997, "memory")
}

pub(super) fn counting_from_planting() -> Citation {
    cite("Degree days are counted from the day after planting up to the day before the assessment", 0, "practice")
}

pub(super) fn leaf_number() -> Citation {
    cite("A hybrid's leaf number is taken as 20, of the common 18 to 21", 0, "practice")
}

pub(super) fn gap_classes() -> Citation {
    let text = "S. D. Kachman and J. A. Smith (1995), Alternative measures of accuracy in plant spacing for planters using single seed \
                metering, Transactions of the ASAE 38:379-387, as printed by Iowa State University: doubles up to 0.5, skips over 1.5 of \
                the spacing intended";
    cite(text, 1995, "page")
}

pub(super) fn mean_of_plants() -> Citation {
    cite("Mean and spread of the plants measured", 0, "derived")
}

pub(super) fn mean_of_parts() -> Citation {
    cite("Mean of the parts harvested, weighted by their area where every part has one", 0, "derived")
}

pub(super) fn yield_components() -> Citation {
    let text = "R. L. Nielsen (2021), Estimating corn grain yield prior to harvest, Purdue University: ears of a thousandth of an acre, \
                rows, kernels, over thousand kernels a bushel";
    cite(text, 2021, "page")
}

pub(super) fn soybean_components() -> Citation {
    cite("Plants, pods of a plant and seeds of a pod on a thousandth of an acre, over seeds a bushel", 0, "derived")
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_table_that_is_cited_is_there() {
        for name in [
            "spacing-loss",
            "hail-stage-offset",
            "hail-leaf-loss",
            "hail-stand-loss",
            "kernel-factor",
            "bushel",
            "moisture-shrink",
        ] {
            assert!(!super::of_table(name).is_empty(), "{name}");
        }
    }
}
