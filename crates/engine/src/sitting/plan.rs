//! Which kinds a visit asks for, and in which order.

use ligule_observation::kind::Kind;
use ligule_observation::kinds::KindSet;

/// The kind whose answer decides what else is asked for.
pub(super) const STAGE: &str = "leaf-stage";
/// The kind that starts a season.
pub(super) const PLANTING: &str = "planting";

/// What observations are about, in the order in which a person works through a field: the whole stand, single plants dug
/// from it, their soil, what feeds on them, what grows beside them, everything else. Common practice, no source.
const FEATURES: [&str; 5] = ["stand", "plant", "soil", "pest", "weed"];

/// What is known of a field when it is visited.
#[derive(Debug, Clone, Copy)]
pub(super) struct Situation<'a> {
    /// The crop; empty where it is not known.
    pub(super) crop: &'a str,
    /// The stage of the field as last recorded, on the leaf-collar scale.
    pub(super) stage: Option<&'a str>,
    /// Whether a planting of the season is recorded.
    pub(super) planted: bool,
}

/// Returns the names of the kinds that are asked for, in order: the planting where none is recorded, the stage, then by
/// [`FEATURES`]; of one feature first what can be asked for the shortest while yet, last what can be asked for at any time.
pub(super) fn plan(kinds: &KindSet, situation: Situation<'_>) -> Vec<String> {
    let mut asked: Vec<&Kind> = kinds.iter().filter(|kind| is_asked(kind, situation)).collect();
    asked.sort_by_key(|kind| {
        let first = match kind.kind.as_str() {
            PLANTING => 0,
            STAGE => 1,
            _ => 2,
        };
        let feature = FEATURES.iter().position(|feature| *feature == kind.feature).unwrap_or(FEATURES.len());
        let window = |i: usize| kind.stages.get(i).and_then(|stage| rank(stage)).unwrap_or(u16::MAX);
        (first, feature, window(1), window(0), kind.kind.clone())
    });
    asked.into_iter().map(|kind| kind.kind.clone()).collect()
}

fn is_asked(kind: &Kind, situation: Situation<'_>) -> bool {
    if kind.feature == "weather" || (kind.kind == PLANTING && situation.planted) {
        return false;
    }
    let of_crop = kind.crops.is_empty() || situation.crop.is_empty() || kind.crops.iter().any(|c| c == situation.crop);
    let in_time = match (situation.stage.and_then(rank), kind.stages.as_slice()) {
        (Some(stage), [from, to]) => {
            rank(from).is_none_or(|from| from <= stage) && rank(to).is_none_or(|to| stage <= to)
        }
        _ => true,
    };
    of_crop && in_time
}

/// Returns where a stage lies on the leaf-collar scale: `VE` before `VC` before `V1` … before `VT` before `R1`.
fn rank(stage: &str) -> Option<u16> {
    match stage.to_uppercase().as_str() {
        "VE" => Some(0),
        "VC" => Some(1),
        "VT" => Some(90),
        other => {
            let number: u16 = other.get(1..)?.parse().ok().filter(|n| *n < 50)?;
            match other.as_bytes()[0] {
                b'V' => Some(10 + number),
                b'R' => Some(100 + number),
                _ => None,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn planned(crop: &str, stage: Option<&str>, planted: bool) -> Vec<String> {
        plan(&KindSet::builtin(), Situation { crop, stage, planted })
    }

    #[test]
    fn the_kinds_own_stages_and_crops_decide() {
        let early = planned("corn", Some("V3"), true);
        assert_eq!(early[..3], [STAGE, "stand-count", "plant-spacing"].map(str::to_owned), "{early:?}");
        assert!(
            !early.iter().any(|kind| matches!(kind.as_str(), PLANTING | "harvest" | "yield-estimate" | "weather-day"))
        );
        let soybean = planned("soybean", Some("V3"), true);
        assert!(!soybean.contains(&"plant-spacing".to_owned()), "it is of corn alone");
        let late = planned("corn", Some("R4"), true);
        assert!(!late.contains(&"stand-count".to_owned()) && late.contains(&"yield-estimate".to_owned()), "{late:?}");
    }

    #[test]
    fn what_is_not_known_is_asked_for_first() {
        let all = planned("corn", None, false);
        assert_eq!(all[..2], [PLANTING, STAGE].map(str::to_owned));
        assert!(all.contains(&"harvest".to_owned()), "no stage rules it out");
    }

    #[test]
    fn stages_are_in_order() {
        let ranks: Vec<u16> = ["VE", "VC", "V1", "V2", "V10", "V20", "VT", "R1", "R8"].map(|s| rank(s).unwrap()).into();
        assert!(ranks.is_sorted_by(|a, b| a < b));
        assert_eq!(rank("V"), None);
        assert_eq!(rank("X1"), None);
        assert_eq!(rank("ü"), None);
    }
}
