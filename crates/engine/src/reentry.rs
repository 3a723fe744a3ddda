//! Whether people have to stay out of a field after an application.
//!
//! What is told is what the crew recorded: when spraying ended (the time of the observation) and the interval that
//! somebody read on the label. An interval that has run out is not told of, since nothing follows from it: the label is
//! the law. One that was not recorded is told of as unknown.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use ligule_journal::Filter;
use ligule_observation::field::Field;
use ligule_observation::ids::{Feature, ObservationKey};
use ligule_observation::kinds::KindSet;
use ligule_observation::record::Record;
use serde::Serialize;

use crate::error::Result;
use crate::phrases::Phrase;
use crate::reading::Reading;
use crate::{Engine, moment, now};

/// The kind that is recorded of what was put on.
pub(crate) const APPLICATION: &str = "application";

/// How long an application without an interval is told of as unknown: as long as the longest interval on a label that
/// is known here, 30 days (as in `schemas/kinds/application.toml`: from memory, to be verified).
const UNKNOWN_FOR: SignedDuration = SignedDuration::from_hours(30 * 24);

/// What keeps people out of a field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reentry {
    /// When the last of the open intervals ends; none where every interval is unknown.
    pub until: Option<Timestamp>,
    /// Whether there are applications whose interval is not known.
    pub unknown: bool,
    /// The field's time zone.
    pub zone: String,
    /// The applications that are told of, those that end last first.
    pub applications: Vec<SprayedField>,
    /// What decides, a sentence each.
    pub cautions: Vec<String>,
}

/// One application that keeps people out, or may.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SprayedField {
    /// The active ingredient, as its list calls it.
    pub ingredient: String,
    /// When spraying ended, as recorded.
    pub ended: Timestamp,
    /// The interval in hours; none where it is not known.
    pub hours: Option<f64>,
    /// When it ends.
    pub until: Option<Timestamp>,
    /// Whether two people wrote different intervals.
    pub disputed: bool,
    /// The observation.
    pub observation: ObservationKey,
}

/// Returns what keeps people out of a field from an instant on; none where no application is known to, or may.
///
/// `records` are the field's, in any order. Of several applications each is told; the longest one counts.
pub(crate) fn reentry(
    records: &[Record],
    kinds: &KindSet,
    zone: (&str, &TimeZone),
    reading: &Reading,
    from: Timestamp,
) -> Option<Reentry> {
    let kind = kinds.get(APPLICATION)?;
    let (hours, ingredient) = (kind.measure("reentry")?, kind.measure("active_ingredient")?);
    let mut applications: Vec<SprayedField> = Vec::new();
    for record in records.iter().filter(|r| r.kind == APPLICATION && r.void.is_none()) {
        let disputed = record.conflicts.contains(&hours.name);
        // A value that two people do not agree on is none.
        let known = record.number(hours).filter(|hours| !disputed && hours.is_finite() && *hours >= 0.0);
        let until = known.and_then(|hours| {
            let interval = SignedDuration::try_from_secs_f64(hours * 3600.0).ok()?;
            record.at.checked_add(interval).ok()
        });
        let shown_until = until.or_else(|| record.at.checked_add(UNKNOWN_FOR).ok());
        if shown_until.is_some_and(|end| end <= from) {
            continue;
        }
        let code = record.text(&ingredient.name).unwrap_or("?");
        applications.push(SprayedField {
            ingredient: crate::reading::code_label(kinds, ingredient, code, &reading.language),
            ended: record.at,
            hours: known,
            until,
            disputed,
            observation: record.key.clone(),
        });
    }
    applications.sort_by(|a, b| (b.until, b.ended, &b.observation).cmp(&(a.until, a.ended, &a.observation)));
    let until = applications.first()?.until;
    Some(Reentry {
        until,
        unknown: applications.iter().any(|one| one.until.is_none()),
        zone: zone.0.to_owned(),
        cautions: [Phrase::LabelIsLaw, Phrase::AskTheApplicator].map(|one| reading.word(one).to_owned()).to_vec(),
        applications,
    })
}

impl Reentry {
    /// Returns what it says, a line each, the cautions left out; times in the field's zone.
    pub fn lines(&self, reading: &Reading) -> Vec<String> {
        let line = |one: &SprayedField| {
            let (name, ended) = (&one.ingredient, self.clock(one.ended));
            match (one.until, one.hours) {
                (Some(until), Some(hours)) => reading.say(
                    Phrase::KeepOut,
                    &[
                        ("until", &self.clock(until)),
                        ("zone", &self.zone),
                        ("name", name),
                        ("ended", &ended),
                        ("hours", &hours),
                    ],
                ),
                _ => {
                    let why = if one.disputed { Phrase::ReentryDisputed } else { Phrase::ReentryNotRecorded };
                    let why = reading.word(why);
                    reading.say(Phrase::ReentryUnknown, &[("name", name), ("ended", &ended), ("why", &why)])
                }
            }
        };
        self.applications.iter().map(line).collect()
    }

    /// Returns the same in a few words, for a column.
    pub fn brief(&self, reading: &Reading) -> String {
        let until = self.until.map(|until| reading.say(Phrase::KeepOutBrief, &[("until", &self.clock(until))]));
        let ask = (self.unknown || until.is_none()).then(|| reading.word(Phrase::AskBrief).to_owned());
        until.into_iter().chain(ask).collect::<Vec<_>>().join("; ")
    }

    /// An instant as the clock at the field shows it.
    fn clock(&self, at: Timestamp) -> String {
        let zone = moment::zone(&self.zone).unwrap_or(TimeZone::UTC);
        at.to_zoned_datetime(zone).strftime("%Y-%m-%d %H:%M").to_string()
    }
}

impl Engine {
    /// Returns what keeps people out of a field now, or may.
    pub fn reentry(&self, field: &str) -> Result<Option<Reentry>> {
        let field = self.field(field)?;
        self.reentry_on(&field, None)
    }

    /// Returns what keeps people out of a field: from now on, or, for a day that is not today, on any hour of that day.
    pub(crate) fn reentry_on(&self, field: &Field, day: Option<Date>) -> Result<Option<Reentry>> {
        let records = self.journal.records(&Filter {
            feature: Some(Feature::Field(field.id.clone())),
            kind: Some(APPLICATION.to_owned()),
            ..Filter::default()
        })?;
        self.reentry_of(field, &records, day)
    }

    fn reentry_of(&self, field: &Field, records: &[Record], day: Option<Date>) -> Result<Option<Reentry>> {
        if records.is_empty() {
            return Ok(None);
        }
        let zone = moment::zone(&field.zone)?;
        let today = now().to_zoned_datetime(zone.clone()).date();
        let (from, last) = match day.filter(|day| *day != today) {
            None => (now(), Date::MAX),
            Some(day) => (day.to_zoned_datetime(zone.clone()).map_or_else(|_| now(), |start| start.timestamp()), day),
        };
        let until_then: Vec<Record> = records.iter().filter(|r| r.day <= last).cloned().collect();
        Ok(reentry(&until_then, &self.kinds, (&field.zone, &zone), &self.reading, from))
    }

    /// Returns what keeps people out of fields now, by the fields' identifiers; fields that nothing is known to are left
    /// out.
    pub fn reentries(&self) -> Result<BTreeMap<String, Reentry>> {
        let records = self.journal.records(&Filter { kind: Some(APPLICATION.to_owned()), ..Filter::default() })?;
        let mut by_field: BTreeMap<String, Vec<Record>> = BTreeMap::new();
        for record in records {
            if let Feature::Field(id) = &record.feature {
                by_field.entry(id.clone()).or_default().push(record);
            }
        }
        let mut all = BTreeMap::new();
        for field in self.journal.fields()? {
            let Some(records) = by_field.get(&field.id) else { continue };
            if let Some(reentry) = self.reentry_of(&field, records, None)? {
                all.insert(field.id, reentry);
            }
        }
        Ok(all)
    }
}

#[cfg(test)]
mod tests {
    use ligule_observation::ids::DeviceId;
    use ligule_observation::record::{Measured, Value, Void};

    use super::*;

    const ZONE: &str = "America/Chicago";

    fn applied(at: &str, ingredient: &str, tenths_of_hours: Option<i64>) -> Record {
        let at: Timestamp = at.parse().expect("an instant");
        let mut values = BTreeMap::from([(
            "active_ingredient".to_owned(),
            Measured { value: Value::Text(ingredient.to_owned()), entered: None },
        )]);
        if let Some(hours) = tenths_of_hours {
            values.insert("reentry".to_owned(), Measured { value: Value::Int(hours), entered: None });
        }
        Record {
            key: format!("01J00000000000000000000000-{ingredient}"),
            visit: "01J00000000000000000000000".to_owned(),
            kind: APPLICATION.to_owned(),
            feature: Feature::Field("01J0000000000000000000FIELD".to_owned()),
            season: 2026,
            crop: String::new(),
            at,
            offset_minutes: -300,
            day: at.to_zoned_datetime(TimeZone::UTC).date(),
            by: "Ann".to_owned(),
            device: DeviceId([1; 32]),
            place: None,
            values,
            void: None,
            conflicts: Vec::new(),
        }
    }

    fn at(records: &[Record], instant: &str) -> Option<Reentry> {
        let zone = moment::zone(ZONE).expect("a bundled zone");
        reentry(records, &KindSet::builtin(), (ZONE, &zone), &Reading::default(), instant.parse().expect("an instant"))
    }

    #[test]
    fn it_is_told_until_the_interval_has_run_out() {
        // 14:30 in Chicago, twelve hours.
        let records = [applied("2026-05-20T19:30:00Z", "mesotrione", Some(120))];
        let open = at(&records, "2026-05-21T07:29:59Z").expect("still open");
        assert_eq!(open.until, Some("2026-05-21T07:30:00Z".parse().expect("an instant")));
        assert!(!open.unknown);
        let lines = open.lines(&Reading::default());
        assert_eq!(
            lines,
            [
                "KEEP OUT until 2026-05-21 02:30 (America/Chicago): mesotrione, spraying ended 2026-05-20 14:30, recorded interval 12 h"
            ]
        );
        assert!(open.cautions[0].contains("label is the law"));
        let spanish = Reading { language: "es".into(), ..Reading::default() };
        assert!(open.lines(&spanish)[0].starts_with("NO ENTRAR hasta 2026-05-21 02:30"));
        assert_eq!(at(&records, "2026-05-21T07:30:00Z"), None);
    }

    #[test]
    fn hours_are_hours_where_the_clocks_are_set() {
        // 20:00 on the evening before the clocks go forward in Chicago; twelve hours later the clock shows 09:00.
        let records = [applied("2026-03-08T02:00:00Z", "atrazine", Some(120))];
        let open = at(&records, "2026-03-08T13:59:00Z").expect("still open");
        assert!(
            open.lines(&Reading::default())[0].starts_with("KEEP OUT until 2026-03-08 09:00"),
            "{:?}",
            open.lines(&Reading::default())
        );
        assert_eq!(at(&records, "2026-03-08T14:00:00Z"), None);
    }

    #[test]
    fn of_a_mix_the_longest_counts_and_each_is_told() {
        let records = [
            applied("2026-05-20T19:30:00Z", "mesotrione", Some(120)),
            applied("2026-05-20T19:30:00Z", "chlorpyrifos", Some(240)),
            applied("2026-05-20T19:30:00Z", "atrazine", None),
        ];
        let open = at(&records, "2026-05-20T20:00:00Z").expect("open");
        assert_eq!(open.until, Some("2026-05-21T19:30:00Z".parse().expect("an instant")));
        let told: Vec<&str> = open.applications.iter().map(|one| one.ingredient.as_str()).collect();
        assert_eq!(told, ["chlorpyrifos", "mesotrione", "atrazine"]);
        assert_eq!(open.brief(&Reading::default()), "keep out until 2026-05-21 14:30; unknown: ask before walking");
        // The shorter one has run out, the longer one has not.
        let later = at(&records, "2026-05-21T09:00:00Z").expect("open");
        assert_eq!(later.applications.len(), 2);
        assert_eq!(later.until, open.until);
    }

    #[test]
    fn an_interval_that_nobody_recorded_or_agrees_on_is_unknown() {
        let mut records = [applied("2026-05-20T19:30:00Z", "atrazine", None)];
        let open = at(&records, "2026-05-25T00:00:00Z").expect("unknown");
        assert_eq!((open.until, open.unknown), (None, true));
        assert!(open.lines(&Reading::default())[0].starts_with("RE-ENTRY UNKNOWN, ask before walking: atrazine"));
        assert_eq!(at(&records, "2026-06-20T00:00:00Z"), None, "told for 30 days");
        records[0] = applied("2026-05-20T19:30:00Z", "atrazine", Some(40));
        records[0].conflicts = vec!["reentry".to_owned()];
        let open = at(&records, "2026-05-25T00:00:00Z").expect("disputed");
        assert!(open.unknown && open.applications[0].disputed);
        records[0].void = Some(Void { why: "wrong field".into(), by: "Ann".into(), at: Timestamp::UNIX_EPOCH });
        assert_eq!(at(&records, "2026-05-25T00:00:00Z"), None);
    }
}
