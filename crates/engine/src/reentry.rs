//! Whether people have to stay out of a field after an application.
//!
//! What is told is what the crew recorded: when spraying ended (the time of the observation) and the interval that
//! somebody read on the label. An interval that has run out is not told of, since nothing follows from it: the label is
//! the law. One that was not recorded is told of as unknown.
//!
//! The day that an application names counts before the time of its observation, which may be when it was written down.
//! Where the hour is not known the interval counts from the end of that day: spraying never ended later.

use std::collections::{BTreeMap, HashMap};

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use ligule_journal::Filter;
use ligule_observation::field::Field;
use ligule_observation::ids::{Feature, ObservationKey};
use ligule_observation::kinds::KindSet;
use ligule_observation::record::{Record, Value};
use serde::Serialize;

use crate::error::Result;
use crate::fields::Grounds;
use crate::phrases::Phrase;
use crate::reading::Reading;
use crate::recording::{Entry, Read};
use crate::{Engine, moment, now, visits};

/// The kind that is recorded of what was put on.
pub const APPLICATION: &str = "application";

/// How long an application without an interval is told of as unknown: as long as the longest interval on a label that
/// is known here, 30 days (as in `schemas/kinds/application.toml`: from memory, to be verified).
const UNKNOWN_FOR: SignedDuration = SignedDuration::from_hours(30 * 24);

/// How long an interval can be: as long as the kind takes, 2,400 hours.
const LONGEST: SignedDuration = SignedDuration::from_hours(2400 + 24);

/// The measures that say how long people are kept out, and on which day it was sprayed.
const INTERVAL: &str = "reentry";
const DAY: &str = "day";

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
    /// When spraying ended, as recorded; where the hour is not known, the end of the day.
    pub ended: Timestamp,
    /// The field's day on which it ended.
    pub day: Date,
    /// Whether the hour is known at which it ended.
    pub hour_known: bool,
    /// The interval in hours; none where it is not known.
    pub hours: Option<f64>,
    /// When it ends.
    pub until: Option<Timestamp>,
    /// Whether two people wrote different intervals.
    pub disputed: bool,
    /// The observation.
    pub observation: ObservationKey,
}

/// When spraying ended at the latest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Ended {
    at: Timestamp,
    day: Date,
    hour_known: bool,
}

impl Ended {
    /// Reads it of a record. A day without an hour is kept as noon, by a visit as midnight: neither tells an hour.
    fn of(record: &Record, zone: &TimeZone) -> Self {
        let told = record.at.to_zoned_datetime(zone.clone());
        let day = named_day(record).unwrap_or(told.date());
        let no_hour = [Time::midnight(), Time::constant(12, 0, 0, 0)].contains(&told.time());
        if day == told.date() && !no_hour {
            return Self { at: record.at, day, hour_known: true };
        }
        let end = day.tomorrow().and_then(|next| next.to_zoned_datetime(zone.clone()));
        Self { at: end.map_or(record.at, |end| end.timestamp()), day, hour_known: false }
    }
}

/// Returns the day on which an application was made, as it says.
fn named_day(record: &Record) -> Option<Date> {
    record.text(DAY)?.parse().ok()
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
    let (hours, ingredient) = (kind.measure(INTERVAL)?, kind.measure("active_ingredient")?);
    let mut applications: Vec<SprayedField> = Vec::new();
    for record in records.iter().filter(|r| r.kind == APPLICATION && r.void.is_none()) {
        // A value that two people do not agree on is none.
        let disputed = record.conflicts.iter().any(|name| *name == hours.name || name == DAY);
        let ended = Ended::of(record, zone.1);
        let known = record.number(hours).filter(|hours| !disputed && hours.is_finite() && *hours >= 0.0);
        let until = known.and_then(|hours| {
            let interval = SignedDuration::try_from_secs_f64(hours * 3600.0).ok()?;
            ended.at.checked_add(interval).ok()
        });
        let shown_until = until.or_else(|| ended.at.checked_add(UNKNOWN_FOR).ok());
        if shown_until.is_some_and(|end| end <= from) {
            continue;
        }
        let code = record.text(&ingredient.name).unwrap_or("?");
        applications.push(SprayedField {
            ingredient: crate::reading::code_label(kinds, ingredient, code, &reading.language),
            ended: ended.at,
            day: ended.day,
            hour_known: ended.hour_known,
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
    /// Returns what it says, a line each, the cautions left out; times in the field's zone. What two applications say alike
    /// is said once.
    pub fn lines(&self, reading: &Reading) -> Vec<String> {
        let line = |one: &SprayedField| {
            let name = &one.ingredient;
            let ended = if one.hour_known { self.clock(one.ended) } else { one.day.to_string() };
            match (one.until, one.hours) {
                (Some(until), Some(hours)) => reading.say(
                    if one.hour_known { Phrase::KeepOut } else { Phrase::KeepOutFromDay },
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
        let mut lines: Vec<String> = self.applications.iter().map(line).collect();
        // They are sorted by what the lines tell.
        lines.dedup();
        lines
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
        let mut records = Vec::new();
        for id in Grounds::of(&self.journal)?.shared(field) {
            records.extend(self.journal.records(&Filter {
                feature: Some(Feature::Field(id)),
                kind: Some(APPLICATION.to_owned()),
                ..Filter::default()
            })?);
        }
        self.doubt(&mut records, |record| self.moved_here(record))?;
        self.reentry_of(field, &records, day)
    }

    /// Returns what keeps people out of the field of an observation now, where that is an application.
    pub fn reentry_after(&self, key: &str) -> Result<Option<Reentry>> {
        let record = self.journal.record_by_key(key)?;
        match &record.feature {
            Feature::Field(id) if record.kind == APPLICATION => self.reentry_on(&self.field(id)?, None),
            _ => Ok(None),
        }
    }

    /// Tells that an application names another day than the time that was given for it.
    pub(crate) fn sprayed_another_day(&self, entry: &Entry, read: &Read) -> Option<String> {
        let Some(Value::Text(day)) = read.values.get(DAY).map(|measured| &measured.value) else { return None };
        let at = read.moment.day.to_string();
        let told = entry.at.is_some() && read.kind == APPLICATION && *day != at;
        told.then(|| self.reading.say(Phrase::SprayedAnotherDay, &[("day", day), ("at", &at)]))
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
        // What is known now counts, also where it was written down after that day.
        let sprayed = |record: &&Record| named_day(record).unwrap_or(record.day) <= last;
        let until_then: Vec<Record> = records.iter().filter(sprayed).cloned().collect();
        Ok(reentry(&until_then, &self.kinds, (&field.zone, &zone), &self.reading, from))
    }

    /// Marks the interval of applications whose visit was moved while it was corrected elsewhere: until a person has decided,
    /// nobody knows it. `originals` names what was moved into a record.
    fn doubt(&self, records: &mut [Record], originals: impl Fn(&Record) -> Result<Vec<ObservationKey>>) -> Result<()> {
        let latest = now().checked_sub(LONGEST).unwrap_or(Timestamp::MIN);
        // What ran out long ago keeps nobody out.
        let may_be_open = |record: &&mut Record| record.void.is_none() && record.at > latest;
        for record in records.iter_mut().filter(may_be_open) {
            for original in originals(record)? {
                let waits = self.left_behind(&original, &record.key)?;
                record.conflicts.extend(waits.into_iter().map(|line| line.measure));
            }
        }
        Ok(())
    }

    /// Returns what was moved into an application, by the voids that say so.
    fn moved_here(&self, copy: &Record) -> Result<Vec<ObservationKey>> {
        let beside = self.journal.records_beginning(visits::time_of(&copy.visit))?;
        let here = |record: &Record| record.void.as_ref().and_then(visits::link).is_some_and(|(_, to)| to == copy.key);
        Ok(beside.into_iter().filter(here).map(|record| record.key).collect())
    }

    /// Returns what keeps people out of fields now, by the fields' identifiers; fields that nothing is known to are left
    /// out.
    pub fn reentries(&self) -> Result<BTreeMap<String, Reentry>> {
        let mut records = self.journal.records(&Filter { kind: Some(APPLICATION.to_owned()), ..Filter::default() })?;
        let mut moved: HashMap<ObservationKey, Vec<ObservationKey>> = HashMap::new();
        for record in &records {
            if let Some((_, copy)) = record.void.as_ref().and_then(visits::link) {
                moved.entry(copy.to_owned()).or_default().push(record.key.clone());
            }
        }
        self.doubt(&mut records, |record| Ok(moved.get(&record.key).cloned().unwrap_or_default()))?;
        let mut by_field: BTreeMap<String, Vec<Record>> = BTreeMap::new();
        for record in records {
            if let Feature::Field(id) = &record.feature {
                by_field.entry(id.clone()).or_default().push(record);
            }
        }
        let mut all = BTreeMap::new();
        if by_field.is_empty() {
            return Ok(all);
        }
        let grounds = Grounds::of(&self.journal)?;
        for field in self.journal.fields()? {
            let records = grounds.shared(&field).into_iter().filter_map(|id| by_field.get(&id)).flatten();
            let of_field: Vec<Record> = records.cloned().collect();
            if let Some(reentry) = self.reentry_of(&field, &of_field, None)? {
                all.insert(field.id, reentry);
            }
        }
        Ok(all)
    }
}

#[cfg(test)]
mod tests {
    use ligule_observation::ids::DeviceId;
    use ligule_observation::record::{Measured, Void};

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
    fn without_an_hour_it_counts_from_the_end_of_the_day_that_is_named() {
        // Noon in Chicago, which a day without an hour is kept as, and midnight, which a visit keeps.
        for at_day in ["2026-05-20T17:00:00Z", "2026-05-20T05:00:00Z"] {
            let records = [applied(at_day, "mesotrione", Some(80))];
            let open = at(&records, "2026-05-21T12:59:59Z").expect("still open");
            let said = open.lines(&Reading::default());
            assert_eq!(open.until, Some("2026-05-21T13:00:00Z".parse().expect("an instant")), "{said:?}");
            assert!(said[0].contains("until 2026-05-21 08:00") && said[0].contains("on 2026-05-20"), "{said:?}");
            assert!(said[0].contains("counted from the end of that day"), "{said:?}");
            assert_eq!(at(&records, "2026-05-21T13:00:00Z"), None);
        }
        // The day that is named counts, not when it was written down.
        let mut records = [applied("2026-05-28T19:30:00Z", "mesotrione", Some(120))];
        let day = Measured { value: Value::Text("2026-05-20".into()), entered: None };
        records[0].values.insert(DAY.into(), day);
        assert_eq!(at(&records, "2026-05-28T20:00:00Z"), None);
        assert!(at(&records, "2026-05-21T16:59:59Z").is_some());
        // Nobody knows the day on which two people do not agree.
        records[0].conflicts = vec![DAY.into()];
        assert!(at(&records, "2026-05-28T20:00:00Z").expect("disputed").unknown);
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
        records[0].void =
            Some(Void { why: "wrong field".into(), by: "Ann".into(), at: Timestamp::UNIX_EPOCH, also: Vec::new() });
        assert_eq!(at(&records, "2026-05-25T00:00:00Z"), None);
    }
}
