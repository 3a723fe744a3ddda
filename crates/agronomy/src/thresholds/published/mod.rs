//! Published thresholds, by pest and region.
//!
//! Contested numbers keep every version, each with its region, name and source. Most were set for the prices of their
//! year; the year stands in the source.

use crate::catalogue::{Cell, Origin, Table};
use crate::thresholds::measure::Measure;
use crate::thresholds::threshold::{Crop, Threshold};

mod armyworm;
mod corn_ears;
mod corn_seedling;
mod defoliation;
mod rootworm;
mod soybean;

const LISTS: [&[Threshold]; 6] = [
    corn_seedling::THRESHOLDS,
    armyworm::THRESHOLDS,
    rootworm::THRESHOLDS,
    corn_ears::THRESHOLDS,
    soybean::THRESHOLDS,
    defoliation::THRESHOLDS,
];

/// Returns every published threshold.
///
/// ```
/// use ligule_agronomy::thresholds::all_published;
/// assert!(all_published().any(|threshold| threshold.pest == "black-cutworm"));
/// ```
pub fn all_published() -> impl Iterator<Item = &'static Threshold> {
    LISTS.into_iter().flatten()
}

/// Returns the thresholds published for a pest in a region; none if none is known. Nothing is borrowed from a
/// neighbour: the caller decides that.
///
/// `pest` is a word such as `black-cutworm`, `region` a code of ISO 3166-2 such as `US-IA`.
///
/// ```
/// use ligule_agronomy::thresholds::published;
/// assert_eq!(published("black-cutworm", "US-IA").count(), 4);
/// assert_eq!(published("black-cutworm", "US-OH").count(), 0);
/// ```
pub fn published(pest: &str, region: &str) -> impl Iterator<Item = &'static Threshold> {
    all_published().filter(move |threshold| threshold.pest == pest && threshold.regions.contains(&region))
}

/// Returns the regions for which a threshold of the pest is published, in order.
pub fn regions_of(pest: &str) -> Vec<&'static str> {
    let mut regions: Vec<_> = all_published().filter(|t| t.pest == pest).flat_map(|t| t.regions).copied().collect();
    regions.sort_unstable();
    regions.dedup();
    regions
}

/// The pests that have a published threshold here, in order.
pub(crate) const PESTS: &[&str] = &[
    "bean-leaf-beetle",
    "black-cutworm",
    "black-cutworm-moths",
    "corn-flea-beetle",
    "corn-rootworm",
    "corn-rootworm-silk-clipping",
    "corn-rootworm-soybean-traps",
    "fall-armyworm",
    "grasshoppers",
    "gray-leaf-spot",
    "japanese-beetle-silk-clipping",
    "soybean-aphid",
    "soybean-defoliation",
    "spider-mites-soybean",
    "stalk-lodging",
    "stink-bugs",
    "stink-bugs-ears",
    "thrips-soybean",
    "true-armyworm",
    "western-bean-cutworm",
    "white-grubs",
    "wireworms",
];

/// What has no accepted threshold, and who says so.
struct Without {
    what: &'static str,
    says: &'static str,
    origin: Origin,
    source: &'static str,
}

const WITHOUT: [Without; 6] = [
    Without {
        what: "slugs in corn and soybean",
        says: "no accepted number; corn outgrows the feeding, soybean at VE to VC does not",
        origin: Origin::Page,
        source: "Ohio State University Extension, C.O.R.N. Newsletter 2024-19, Slug management considerations",
    },
    Without {
        what: "wireworms after planting",
        says: "no rescue treatment exists: the choices are before planting, or to replant",
        origin: Origin::Page,
        source: "University of Illinois Extension, The Bulletin, article 6",
    },
    Without {
        what: "seedcorn maggot after planting",
        says: "no rescue treatment; cool wet soil raises the risk",
        origin: Origin::Memory,
        source: "common knowledge of extension entomology",
    },
    Without {
        what: "thrips in corn",
        says: "none",
        origin: Origin::Memory,
        source: "common knowledge of extension entomology",
    },
    Without {
        what: "tar spot of corn",
        says: "no threshold of lesions: susceptible hybrid, history of the field and weather from VT to R3",
        origin: Origin::Page,
        source: "University of Illinois, farmdoc (2019); University of Wisconsin Extension (2019, 2023), Tar spot in corn",
    },
    Without {
        what: "southern rust of corn",
        says: "no economic threshold; found at R3 or earlier it is serious, little is gained after dent",
        origin: Origin::Page,
        source: "University of Nebraska-Lincoln (2021) and University of Kentucky, as the press reports them",
    },
];

fn as_table(name: &'static str, title: &'static str, crop: Crop) -> Table {
    let table = Table::new(
        name,
        title,
        "Holds for the region it was published for and the prices of its year. Local codes, the label and licensed \
         practice decide about treatments; a number here permits nothing.",
        ["pest", "region", "which", "measure", "threshold", "unit", "stages", "larvae", "also asked", "note"],
    );
    all_published().filter(|threshold| threshold.crop == crop).fold(table, |table, threshold| {
        let also = threshold.also.iter().map(|condition| {
            let Measure { text, unit, .. } = condition.measure;
            format!("{text}: {} {unit}", condition.limit).trim_end().to_owned()
        });
        let text = |text: String| if text.is_empty() { Cell::Blank } else { text.into() };
        let cells: [Cell; 10] = [
            threshold.pest.into(),
            threshold.regions.join(", ").into(),
            text(threshold.name.to_owned()),
            threshold.measure.text.into(),
            threshold.limit.to_string().into(),
            text(threshold.measure.unit.to_owned()),
            text(threshold.stages_in_words()),
            text(threshold.larvae.to_string()),
            text(also.collect::<Vec<_>>().join("; ")),
            text(threshold.note.to_owned()),
        ];
        table.row(cells, threshold.origin, threshold.source)
    })
}

pub(crate) fn tables() -> Vec<Table> {
    let without = Table::new(
        "no-threshold",
        "Pests and diseases for which no threshold of treatment is accepted",
        "",
        ["what", "what the source says"],
    );
    vec![
        as_table("corn-thresholds", "Published thresholds of pests in corn", Crop::Corn),
        as_table("soybean-thresholds", "Published thresholds of pests in soybean", Crop::Soybean),
        WITHOUT
            .iter()
            .fold(without, |table, row| table.row([row.what.into(), row.says.into()], row.origin, row.source)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::thresholds::threshold::CropStage;

    #[test]
    fn every_stage_of_every_threshold_can_be_read() {
        for threshold in all_published() {
            for text in [threshold.stages.0, threshold.stages.1] {
                assert!(text.is_empty() || CropStage::read(threshold.crop, text).is_ok(), "{threshold:?}");
            }
        }
    }

    #[test]
    fn the_list_of_pests_is_the_one_of_the_thresholds() {
        let mut pests: Vec<_> = all_published().map(|threshold| threshold.pest).collect();
        pests.sort_unstable();
        pests.dedup();
        assert_eq!(pests, PESTS);
    }

    #[test]
    fn thresholds_of_one_pest_and_region_differ_in_name() {
        for threshold in all_published() {
            assert!(!threshold.name.is_empty(), "{threshold:?}");
            for region in threshold.regions {
                let same = published(threshold.pest, region).filter(|other| other.name == threshold.name).count();
                assert_eq!(same, 1, "{} {region} {}", threshold.pest, threshold.name);
            }
        }
    }
}
