//! What a field was last planted to: a pack for one crop must not read another one's records.

use crate::{Evidence, Explanation, Field, ReasonText};

/// The crop of a planting; a pack that asks [`other_crop`] names it among its needs.
pub const CROP: &str = "planting/crop";
/// The day of a planting, as text; a pack that asks [`other_crop`] names it among its needs.
pub const DAY: &str = "planting/day";

/// The latest planting, of another crop than the question's or of one that is in conflict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherCrop {
    /// The crop that was planted: `soybean`.
    pub planted: String,
    /// Whether people disagree on it.
    pub in_conflict: bool,
    /// The crop that the question is about: `corn`.
    pub asked: String,
    /// The rows of the crops of that day's plantings.
    pub rows: Vec<u32>,
}

/// Returns the latest planting up to a day, where it is of another crop than `crop`, or people disagree on its crop.
///
/// A planting counts from the day it was done, not from the day it was recorded. Of several plantings of one day a
/// single one of another crop is enough. `None` also where no planting is recorded.
pub fn other_crop(field: &Field<'_>, crop: &str, as_of: i32) -> Option<OtherCrop> {
    let plantings = field.results(CROP).into_iter().filter(|row| row.text.is_some()).map(|row| {
        let day = field.of(row.observation, DAY).and_then(|d| d.text).and_then(day_number);
        (day.unwrap_or(row.day), row)
    });
    let mut plantings: Vec<_> = plantings.filter(|(day, _)| *day <= as_of).collect();
    let last = plantings.iter().map(|(day, _)| *day).max()?;
    plantings.retain(|(day, _)| *day == last);
    let (_, found) = plantings.iter().find(|(_, row)| row.text != Some(crop) || row.conflicted)?;
    Some(OtherCrop {
        planted: found.text.unwrap_or_default().to_owned(),
        in_conflict: found.conflicted,
        asked: crop.to_owned(),
        rows: plantings.iter().map(|(_, row)| row.row).collect(),
    })
}

impl OtherCrop {
    /// Returns the numbers of its one reason.
    pub fn evidence(&self) -> Evidence {
        Evidence { observed: None, limit: None, rows: self.rows.clone() }
    }

    /// Returns its words; `citation` is the manifest's id for what has no published source.
    pub fn explanation(&self, citation: &str) -> Explanation {
        let (planted, doubt) = match self.in_conflict {
            true => ("What was planted is in conflict".to_owned(), " or another crop"),
            false => (format!("Planted to {}", self.planted), ""),
        };
        Explanation {
            headline: format!("{planted}; this pack is for {} and judged nothing.", self.asked),
            reasons: vec![ReasonText {
                text: format!("The latest planting on record is of {}{doubt}.", self.planted),
                unit: String::new(),
            }],
            citations: vec![citation.to_owned()],
            cautions: Vec::new(),
        }
    }
}

/// Reads `2026-05-28` as days since 1970-01-01; `None` for what is no day of the calendar.
fn day_number(text: &str) -> Option<i32> {
    let mut parts = text.split('-').map(str::parse::<i32>);
    let (year, month, day) = (parts.next()?.ok()?, parts.next()?.ok()?, parts.next()?.ok()?);
    if parts.next().is_some() || !(1600..=9999).contains(&year) || !(1..=12).contains(&month) {
        return None;
    }
    let leap = |year: i32| year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days_of = |month: i32| match month {
        2 if leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    };
    if !(1..=days_of(month)).contains(&day) {
        return None;
    }
    let before = year - 1;
    let of_years = 365 * (year - 1970) + (before / 4 - before / 100 + before / 400) - 477;
    Some(of_years + (1..month).map(days_of).sum::<i32>() + day - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bindings::ligule::rules::types::{Measure, Observations};

    /// Against GNU date: `date -u -d 2026-05-28 +%s` is 1779926400, which is 20601 days.
    #[test]
    fn days_are_counted_as_the_calendar_has_them() {
        assert_eq!(day_number("1970-01-01"), Some(0));
        assert_eq!(day_number("1969-12-31"), Some(-1));
        assert_eq!(day_number("2000-03-01"), Some(11017));
        assert_eq!(day_number("2024-02-29"), Some(19782));
        assert_eq!(day_number("2026-05-28"), Some(20601));
        for wrong in ["2026-02-29", "2026-13-01", "2026-04-31", "2026-05", "28 May", "2026-05-28-1", ""] {
            assert_eq!(day_number(wrong), None, "{wrong}");
        }
    }

    /// Plantings as (day recorded, day done, crop), one observation each.
    fn plantings(all: &[(i32, Option<&str>, &str)]) -> Observations {
        let mut obs = Observations {
            group_offset: Vec::new(),
            measures: [CROP, DAY].map(|name| Measure { name: name.to_owned(), unit: String::new() }).to_vec(),
            texts: Vec::new(),
            observation: Vec::new(),
            measure: Vec::new(),
            day: Vec::new(),
            value: Vec::new(),
            value_valid: Vec::new(),
            text: Vec::new(),
            text_valid: Vec::new(),
            stage: Vec::new(),
            stage_valid: Vec::new(),
            conflicted: Vec::new(),
            derived: Vec::new(),
        };
        for (observation, (recorded, done, crop)) in (0..).zip(all) {
            for (measure, text) in [(0, Some(*crop)), (1, *done)] {
                let Some(text) = text else { continue };
                obs.text.push(obs.texts.len() as u32);
                obs.texts.push(text.to_owned());
                obs.observation.push(observation);
                obs.measure.push(measure);
                obs.day.push(*recorded);
                obs.value.push(0.0);
                obs.value_valid.push(0);
                obs.text_valid.push(1);
                obs.stage.push(0);
                obs.stage_valid.push(0);
                obs.conflicted.push(0);
            }
        }
        obs.group_offset = vec![0, obs.text.len() as u32];
        obs
    }

    fn planted(all: &[(i32, Option<&str>, &str)], as_of: i32) -> Option<String> {
        let obs = plantings(all);
        let field = Field::all(&obs).next().expect("there is one field");
        other_crop(&field, "corn", as_of).map(|other| other.planted)
    }

    #[test]
    fn the_planting_done_last_decides() {
        assert_eq!(planted(&[], 20601), None);
        assert_eq!(planted(&[(20575, None, "corn")], 20601), None);
        assert_eq!(planted(&[(20575, None, "soybean")], 20601).as_deref(), Some("soybean"));
        let replanted = [(20575, None, "corn"), (20590, None, "soybean")];
        assert_eq!(planted(&replanted, 20601).as_deref(), Some("soybean"));
        assert_eq!(planted(&replanted, 20580), None, "the later planting was not done yet");
        // Recorded late: corn of 28 April written down on 1 June, after the soybean of 20 May.
        let late = [(20593, Some("2026-05-20"), "soybean"), (20605, Some("2026-04-28"), "corn")];
        assert_eq!(planted(&late, 20606).as_deref(), Some("soybean"));
        let split = [(20575, None, "soybean"), (20575, None, "corn")];
        assert_eq!(planted(&split, 20601).as_deref(), Some("soybean"));
    }

    #[test]
    fn a_crop_in_conflict_is_not_taken_for_the_one_asked_about() {
        let mut obs = plantings(&[(20575, None, "corn")]);
        obs.conflicted[0] = 1;
        let field = Field::all(&obs).next().expect("there is one field");
        let found = other_crop(&field, "corn", 20601).expect("it is in conflict");
        assert!(found.in_conflict && found.explanation("x").headline.contains("in conflict"), "{found:?}");
    }
}
