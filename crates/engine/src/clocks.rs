//! What is told of clocks that are wrong, or were: with a record, when devices meet, and when one joins.
//!
//! A record keeps the time that its device told. That the clock was wrong shows where it is compared with others: with
//! another device's now, with when a field was added, with what a change was made after.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, Mutex};

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use ligule_observation::field::Field;
use ligule_observation::ids::{DeviceId, DocId, DocKey, Feature, ObservationKey};
use ligule_observation::outside::{EARLIEST, OddTime};
use ligule_observation::record::Record;
use serde::{Deserialize, Serialize};

use crate::error::Result;
use crate::moment;
use crate::phrases::{Noun, Phrase};
use crate::reading::Reading;
use crate::recording::name_of;
use crate::sheet::imported_visit;
use crate::{Engine, now};

/// How many observations that a wrong clock dated are named one by one.
const NAMED: usize = 5;
/// How far two times may be apart before one of both clocks was wrong, as where changes are taken in.
const DAY: SignedDuration = SignedDuration::from_hours(24);

/// Changes that came since an exchange began whose time cannot be, by what they are about.
pub(crate) type OddTimes = Arc<Mutex<Vec<(DocKey, OddTime)>>>;

/// The observations of one device whose times cannot be, each with the instant that it lies before, if that is why.
type Dated = BTreeMap<(DeviceId, bool), Vec<(Record, Option<Timestamp>)>>;

/// Under what is kept of documents which of their observations a clock dated wrongly.
pub(crate) const JUDGED: &str = "dated-by-wrong-clocks";

/// What was found out of documents that have observations of a time that may be wrong, so that they need not be read again.
type Judged = HashMap<DocId, Verdict>;

#[derive(Serialize, Deserialize)]
struct Verdict {
    /// The document's digest then.
    digest: [u8; 8],
    /// The observations that a wrong clock dated.
    by_clock: BTreeSet<ObservationKey>,
}

/// Tells that two devices cannot both know what time it is, and what to do; `ahead` is by how many milliseconds the other
/// one is ahead of this one.
pub(crate) fn apart(person: &str, ahead: i64, reading: &Reading) -> String {
    let phrase = if ahead > 0 { Phrase::ClockAhead } else { Phrase::ClockBehind };
    let now = now().strftime("%Y-%m-%d %H:%M UTC");
    reading.say(phrase, &[("person", &person), ("span", &span(ahead.unsigned_abs(), reading)), ("now", &now)])
}

/// Writes a time span, in milliseconds, as people say it: `3 days 2 h`, `about 6 years`.
pub(crate) fn span(milliseconds: u64, reading: &Reading) -> String {
    let minutes = (milliseconds + 30_000) / 60_000;
    let (days, hours, minutes) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
    match (days, hours) {
        (0, 0) => format!("{minutes} min"),
        (0, hours) => format!("{hours} h {minutes} min"),
        // Years of 365.25 days.
        (730.., _) => reading.say(Phrase::AboutYears, &[("years", &((days * 4 + 730) / 1461))]),
        (14.., _) | (_, 0) => reading.counted(days, Noun::Day),
        (days, hours) => format!("{} {hours} h", reading.counted(days, Noun::Day)),
    }
}

impl Engine {
    /// Says that this device's clock is behind what it holds: when the field was added, or last seen this season.
    pub(crate) fn clock_note(&self, field: &Field) -> Option<String> {
        let now = now();
        let behind = |at: &Timestamp| at.duration_since(now) > DAY;
        let day = |at: Timestamp| at.to_zoned_datetime(TimeZone::UTC).date().to_string();
        let (phrase, at) = match moment::of_ulid(&field.id).filter(behind) {
            Some(added) => (Phrase::ClockBehindField, added),
            None => (Phrase::ClockBehindRecords, self.last_seen(field, now).filter(behind)?),
        };
        Some(self.reading.say(phrase, &[("now", &day(now)), ("field", &field.name), ("day", &day(at))]))
    }

    /// Returns when a field was last seen in the season of a time; nothing too where that cannot be read.
    fn last_seen(&self, field: &Field, at: Timestamp) -> Option<Timestamp> {
        let season = at.to_zoned_datetime(TimeZone::UTC).year();
        let document = self.document(Feature::Field(field.id.clone()), i32::from(season));
        self.journal.last_seen_in(document.id()).ok().flatten()
    }

    /// Tells which observations a wrong clock dated, a sentence for each person: both sides of an exchange say so until they
    /// are void. One that somebody dated so on purpose was written down at a time that can be.
    pub(crate) fn dated_by_wrong_clocks(&self) -> Result<Vec<String>> {
        let dated = self.wrongly_dated()?;
        let names = self.names()?;
        let mut told = Vec::new();
        for ((device, before), records) in &dated {
            let named = |(record, added): &(Record, Option<Timestamp>)| {
                let (field, zone) = name_of(&names, &record.feature);
                let zone = zone.unwrap_or(TimeZone::UTC);
                let at = record.at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M");
                let (key, kind) = (&record.key, &record.kind);
                match added {
                    None => self
                        .reading
                        .say(Phrase::WronglyDated, &[("key", key), ("kind", kind), ("field", &field), ("at", &at)]),
                    Some(added) => {
                        let added = added.to_zoned_datetime(zone).date();
                        self.reading.say(
                            Phrase::DatedBefore,
                            &[("key", key), ("kind", kind), ("field", &field), ("at", &at), ("added", &added)],
                        )
                    }
                }
            };
            let which = self.some(records.iter().map(named), records.len());
            let seasons: BTreeSet<String> =
                records.iter().map(|(one, _)| format!("`ligule list --season {}`", one.season)).collect();
            let seasons = seasons.into_iter().collect::<Vec<_>>().join(", ");
            let (phrase, noun) = match before {
                false => (Phrase::DatedByWrongClock, Noun::ObservationTells),
                true => (Phrase::DatedBeforeField, Noun::ObservationDated),
            };
            let observations = self.reading.counted(records.len(), noun);
            let person = self.person_of(device)?;
            told.push(self.reading.say(
                phrase,
                &[("person", &person), ("observations", &observations), ("which", &which), ("lists", &seasons)],
            ));
        }
        let named: BTreeSet<&ObservationKey> = dated.values().flatten().map(|(record, _)| &record.key).collect();
        let odd = std::mem::take(&mut *self.odd_times.lock().unwrap_or_else(|e| e.into_inner()));
        // What is named above already is not said again, nor that a document was begun for it.
        let unsaid = |(key, odd): &(DocKey, OddTime)| {
            let named = odd.observations.iter().all(|key| named.contains(key));
            !named || (odd.observations.is_empty() && key.feature == Feature::Crew)
        };
        let odd: Vec<_> = odd.into_iter().filter(unsaid).collect();
        let name = |key: &DocKey| format!("{} {}", name_of(&names, &key.feature).0, key.season);
        told.extend(self.odd_changes(&odd, name)?);
        Ok(told)
    }

    /// Finds the observations that are dated as no right clock can have dated them.
    fn wrongly_dated(&self) -> Result<Dated> {
        let latest = now().checked_add(DAY).unwrap_or(Timestamp::MAX);
        let cannot_be = |at: Timestamp| at < EARLIEST || at > latest;
        // Fields are taken as they were added, also those that are one with another since.
        let fields = self.journal.all_fields()?;
        let added: HashMap<String, Timestamp> = fields
            .into_iter()
            .filter_map(|field| Some((moment::of_ulid(&field.id)?, field.id)))
            .filter(|(at, _)| !cannot_be(*at))
            .map(|(at, id)| (id, at))
            .collect();
        let mut dated = Dated::new();
        let judged = self.journal.kv_get(JUDGED)?.and_then(|bytes| serde_json::from_slice::<Judged>(&bytes).ok());
        let (mut judged, mut still, mut judged_now) = (judged.unwrap_or_default(), Judged::new(), false);
        for state in self.journal.documents()? {
            let Feature::Field(field) = &state.key.feature else { continue };
            let added = added.get(field).copied();
            let before = judged.remove(&state.id);
            let verdict = match before {
                Some(known) if known.digest == state.digest => known,
                before => {
                    judged_now = true;
                    let earliest = added.map_or(EARLIEST, |added| (added - DAY).max(EARLIEST));
                    let records = self.journal.records_dated_outside(state.id, earliest, latest)?;
                    let mut by_clock = self.dated_by_clock(state.id, field, &records, |record, written| {
                        let early = added.is_some_and(|added| written < added - DAY)
                            && record.at.duration_since(written).abs() <= DAY;
                        early || (cannot_be(record.at) && cannot_be(written))
                    })?;
                    // What lay in the future is wrong also after that day has come.
                    by_clock.extend(before.into_iter().flat_map(|before| before.by_clock));
                    Verdict { digest: state.digest, by_clock }
                }
            };
            for key in &verdict.by_clock {
                let Ok(record) = self.journal.record_by_key(key) else { continue };
                if record.void.is_none() {
                    let added = added.filter(|added| EARLIEST <= record.at && record.at < *added - DAY);
                    dated.entry((record.device, added.is_some())).or_default().push((record, added));
                }
            }
            still.insert(state.id, verdict);
        }
        if judged_now || !judged.is_empty() {
            self.journal.kv_put(JUDGED, &serde_json::to_vec(&still)?)?;
        }
        Ok(dated)
    }

    /// Returns the keys of those records of a document that `is_wrong` by the time at which they were written down.
    fn dated_by_clock(
        &self,
        document: DocId,
        field: &str,
        records: &[Record],
        is_wrong: impl Fn(&Record, Timestamp) -> bool,
    ) -> Result<BTreeSet<ObservationKey>> {
        // What a sheet told was dated by no clock; there may be very many.
        let imported = |record: &Record| {
            let of = |by: &str| imported_visit(&record.visit, field, record.offset_minutes, by);
            of("") || of(&record.by)
        };
        let typed: Vec<&Record> = records.iter().filter(|record| !imported(record)).collect();
        if typed.is_empty() {
            return Ok(BTreeSet::new());
        }
        let histories = self.journal.histories(document)?;
        let written =
            |record: &Record| histories.get(&record.key).and_then(|history| history.first()).map(|one| one.at);
        let wrong = typed.into_iter().filter(|record| written(record).is_some_and(|at| is_wrong(record, at)));
        Ok(wrong.map(|record| record.key.clone()).collect())
    }

    /// Tells of changes that came just now and whose time cannot be, where what they are of is dated as it should be.
    fn odd_changes(&self, odd: &[(DocKey, OddTime)], name: impl Fn(&DocKey) -> String) -> Result<Vec<String>> {
        let (later, never): (Vec<_>, Vec<_>) = odd.iter().partition(|(_, odd)| odd.after.is_some());
        let of = |odd: &[&(DocKey, OddTime)]| {
            let of: BTreeSet<String> = odd.iter().map(|(key, _)| name(key)).collect();
            of.into_iter().collect::<Vec<_>>().join(", ")
        };
        let mut told = Vec::new();
        if !never.is_empty() {
            let changes = self.reading.counted(never.len(), Noun::Change);
            told.push(self.reading.say(Phrase::ChangesOfWrongClock, &[("changes", &changes), ("of", &of(&never))]));
        }
        let mut of_device: BTreeMap<Option<DeviceId>, Vec<&(DocKey, OddTime)>> = BTreeMap::new();
        later.into_iter().for_each(|one| of_device.entry(one.1.device).or_default().push(one));
        for (device, odd) in of_device {
            let person = device.map(|device| self.person_of(&device)).transpose()?.unwrap_or_default();
            let day = |seconds: Option<i64>| {
                let at = seconds.and_then(|at| Timestamp::from_second(at).ok()).unwrap_or_default();
                at.strftime("%Y-%m-%d").to_string()
            };
            let at = day(odd.iter().map(|(_, odd)| odd.at).min());
            let after = day(odd.iter().filter_map(|(_, odd)| odd.after).max());
            let keys: BTreeSet<&ObservationKey> = odd.iter().flat_map(|(_, odd)| &odd.observations).collect();
            let which = self.some(keys.iter().map(ToString::to_string), keys.len());
            let changes = self.reading.counted(odd.len(), Noun::Change);
            told.push(self.reading.say(
                Phrase::ChangesBeforeOthers,
                &[
                    ("person", &person),
                    ("changes", &changes),
                    ("of", &of(&odd)),
                    ("at", &at),
                    ("after", &after),
                    ("which", &which),
                ],
            ));
        }
        Ok(told)
    }

    /// Names some of so many, and how many more there are.
    fn some(&self, each: impl Iterator<Item = String>, all: usize) -> String {
        let named: Vec<String> = each.take(NAMED).collect();
        let named = named.join(", ");
        match all.saturating_sub(NAMED) {
            0 => named,
            more => self.reading.say(Phrase::AndMore, &[("words", &named), ("n", &more)]),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_written_as_people_say_them() {
        let reading = Reading::default();
        let day = 86_400_000;
        for (milliseconds, said) in [
            (11 * 60_000, "11 min"),
            (90 * 60_000, "1 h 30 min"),
            (day, "1 day"),
            (3 * day + 2 * 3_600_000, "3 days 2 h"),
            (400 * day + 3_600_000, "400 days"),
            (3653 * day, "about 10 years"),
        ] {
            assert_eq!(span(milliseconds, &reading), said);
        }
    }
}
