//! Times as people type them, in the field's own time zone.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use crate::error::{EngineError, Result};
use crate::phrases::Phrase;
use crate::reading::Reading;

/// How far a typed time may lie ahead of this device's clock: a minute, since people round up.
const AHEAD: SignedDuration = SignedDuration::from_secs(60);

/// The first day of which something is recorded: the identifiers of visits count from there.
pub(crate) const FIRST_DAY: Date = Date::constant(1970, 1, 1);

/// When something was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The instant.
    pub at: Timestamp,
    /// Minutes east of UTC at the field then.
    pub offset_minutes: i16,
    /// The field's day.
    pub day: Date,
    /// When the field's clocks showed the same once more, where a time was typed that came twice: at the end of daylight
    /// saving. The first was taken.
    pub again: Option<Timestamp>,
}

/// Writes an instant for programs, as the clock of a time zone shows it: `2026-06-02T12:00:00-05:00` (RFC 3339).
pub(crate) fn instant(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%.f%:z").to_string()
}

/// Writes an instant for people, to the minute: `2026-06-02 12:00`.
pub(crate) fn to_the_minute(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M").to_string()
}

impl Moment {
    /// Tells the two times of a clock that showed one time twice, as they may be typed.
    pub(crate) fn both(&self, zone: &TimeZone) -> Option<[String; 2]> {
        let typed = |at: Timestamp| at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M%:z").to_string();
        self.again.map(|again| [typed(self.at), typed(again)])
    }

    /// Says that the time came twice and which was taken, where that is so.
    pub(crate) fn note(&self, zone: &TimeZone, reading: &Reading) -> Option<String> {
        let [first, second] = self.both(zone)?;
        let clock = self.at.to_zoned_datetime(zone.clone()).strftime("%H:%M");
        Some(reading.say(Phrase::WhenTwice, &[("clock", &clock), ("first", &first), ("second", &second)]))
    }
}

/// Returns when an identifier was made, as the clock of that device told it; `None` where it is no ULID.
pub(crate) fn of_ulid(id: &str) -> Option<Timestamp> {
    let made = ulid::Ulid::from_string(id).ok()?.timestamp_ms();
    Timestamp::from_millisecond(i64::try_from(made).ok()?).ok()
}

/// Returns a time zone by its IANA name, as the journal keeps it.
pub fn zone(name: &str) -> Result<TimeZone> {
    zone_typed(name, &Reading::default())
}

/// Returns a time zone by its IANA name, as a person typed it.
pub(crate) fn zone_typed(name: &str, reading: &Reading) -> Result<TimeZone> {
    TimeZone::get(name).map_err(|_| {
        EngineError::user(reading.say(Phrase::ZoneUnknown, &[("name", &name)]), reading.word(Phrase::ZoneForm))
    })
}

/// Returns the instant at which a day begins in a time zone.
pub(crate) fn start_of(day: Date, zone_name: &str) -> Result<Timestamp> {
    let start = day.to_zoned_datetime(zone(zone_name)?);
    Ok(start.map_err(|error| EngineError::user(format!("{day}: {error}"), "check the year"))?.timestamp())
}

/// Reads a time as typed: `2026-05-28T07:40`, `2026-05-28 07:40`, `2026-05-28` (noon), `07:40` (today); without one it is now.
///
/// # Errors
/// When the text is no time, when it lies before 1970, and, unless `accept` is set, when it lies in the future of this
/// device's clock.
pub fn read(text: Option<&str>, zone: &TimeZone, now: Timestamp, accept: bool, reading: &Reading) -> Result<Moment> {
    let Some(text) = text.map(str::trim) else { return Ok(moment(now.to_zoned_datetime(zone.clone()))) };
    let mut again = None;
    let zoned = if let Ok(zoned) = text.parse::<ZonedDateTime>() {
        zoned.with_time_zone(zone.clone())
    } else if let Ok(instant) = text.parse::<Timestamp>() {
        instant.to_zoned_datetime(zone.clone())
    } else {
        let today = now.to_zoned_datetime(zone.clone()).date();
        let local = if text.contains(['T', ' ']) && text.contains(':') {
            text.parse::<DateTime>().ok()
        } else if text.contains(':') {
            // `7:40` is how people write it.
            let text = if text.find(':') == Some(1) { format!("0{text}") } else { text.to_owned() };
            text.parse::<Time>().ok().map(|time| today.to_datetime(time))
        } else {
            text.parse::<Date>().ok().map(|day| day.at(12, 0, 0, 0))
        };
        let local = local.ok_or_else(|| {
            let expected = reading.say(Phrase::WhenExpected, &[("text", &text)]);
            EngineError::user(expected, reading.word(Phrase::WhenAtTheField))
        })?;
        match zone.to_ambiguous_timestamp(local).offset() {
            AmbiguousOffset::Gap { .. } => {
                let skipped = reading.say(Phrase::WhenSkipped, &[("text", &text)]);
                return Err(EngineError::user(skipped, reading.word(Phrase::WhenOnTheClock)));
            }
            AmbiguousOffset::Fold { after, .. } => again = after.to_timestamp(local).ok(),
            AmbiguousOffset::Unambiguous { .. } => {}
        }
        local
            .to_zoned_datetime(zone.clone())
            .map_err(|error| EngineError::user(format!("`{text}`: {error}"), reading.word(Phrase::CheckTheYear)))?
    };
    if zoned.timestamp() < Timestamp::UNIX_EPOCH {
        let early = reading.say(Phrase::WhenTooEarly, &[("text", &text)]);
        return Err(EngineError::user(early, reading.word(Phrase::CheckTheYear)));
    }
    if !accept && zoned.timestamp() > now.checked_add(AHEAD).unwrap_or(now) {
        let clock = format!("{:.0}", now.to_zoned_datetime(zone.clone()).datetime());
        let ahead = reading.say(Phrase::WhenAhead, &[("text", &text), ("clock", &clock)]);
        return Err(EngineError::user(ahead, reading.word(Phrase::CorrectTheTime)));
    }
    Ok(Moment { again, ..moment(zoned) })
}

fn moment(zoned: ZonedDateTime) -> Moment {
    let minutes = zoned.offset().seconds() / 60;
    // An offset is less than 26 hours, which is 1,560 minutes.
    Moment {
        at: zoned.timestamp(),
        offset_minutes: i16::try_from(minutes).unwrap_or_default(),
        day: zoned.date(),
        again: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chicago() -> TimeZone {
        zone("America/Chicago").expect("a bundled zone")
    }

    fn now() -> Timestamp {
        "2026-05-28T13:00:00Z".parse().expect("an instant")
    }

    #[test]
    fn a_day_is_the_fields_day() {
        // 23:30 in Chicago is the next day in Greenwich.
        let moment =
            read(Some("2026-05-27T23:30"), &chicago(), now(), false, &Reading::default()).expect("a past time");
        assert_eq!(moment.day, jiff::civil::date(2026, 5, 27));
        assert_eq!(moment.at, "2026-05-28T04:30:00Z".parse().expect("an instant"));
        assert_eq!(moment.offset_minutes, -300);
        for text in ["07:40", "7:40"] {
            assert_eq!(
                read(Some(text), &chicago(), now(), false, &Reading::default()).expect("today").at,
                "2026-05-28T12:40:00Z".parse().expect("an instant")
            );
        }
    }

    #[test]
    fn the_future_is_refused_unless_accepted() {
        let refused =
            read(Some("2026-05-28T09:00"), &chicago(), now(), false, &Reading::default()).expect_err("an hour ahead");
        assert!(refused.message.contains("2026-05-28T08:00:00"), "{refused}");
        assert!(refused.hint.expect("a hint").contains("--accept-time"));
        assert!(read(Some("2026-05-28T09:00"), &chicago(), now(), true, &Reading::default()).is_ok());
        assert!(
            read(Some("2026-05-28T08:00:30"), &chicago(), now(), false, &Reading::default()).is_ok(),
            "people round up"
        );
    }

    #[test]
    fn an_hour_that_never_was_is_refused() {
        let error = read(Some("2026-03-08T02:30"), &chicago(), now(), false, &Reading::default())
            .expect_err("the clocks were set forward");
        assert!(error.message.contains("does not exist"), "{error}");
    }

    #[test]
    fn an_hour_that_came_twice_is_the_first_and_said_to_be() {
        let late = "2026-12-01T00:00:00Z".parse().expect("an instant");
        let read = |text: &str| read(Some(text), &chicago(), late, false, &Reading::default()).expect("a past time");
        let twice = read("2026-11-01T01:30");
        assert_eq!(twice.at, "2026-11-01T06:30:00Z".parse().expect("an instant"));
        let note = twice.note(&chicago(), &Reading::default()).expect("a note");
        assert!(note.contains("2026-11-01T01:30-05:00; the second would be 2026-11-01T01:30-06:00"), "{note}");
        // As the note has it, it may be typed.
        let second = read("2026-11-01T01:30-06:00");
        assert_eq!((Some(second.at), second.note(&chicago(), &Reading::default())), (twice.again, None));
        for once in ["2026-11-01T00:30", "2026-11-01T02:30", "2026-11-01"] {
            assert_eq!(read(once).again, None, "{once}");
        }
    }

    #[test]
    fn nothing_was_observed_before_1970() {
        for text in ["0026-05-28", "1899-12-30", "1969-12-31T12:00", "1969-12-31T23:59:59Z"] {
            for accept in [false, true] {
                let error = read(Some(text), &chicago(), now(), accept, &Reading::default()).expect_err(text);
                assert!(error.message.contains("from 1970-01-01 on") && error.message.contains(text), "{error}");
            }
        }
        assert!(read(Some("1970-01-01"), &chicago(), now(), false, &Reading::default()).is_ok());
    }

    #[test]
    fn nonsense_is_answered_with_what_was_expected() {
        for text in ["yesterday", "2026-13-01", "25:00", ""] {
            let error = read(Some(text), &chicago(), now(), false, &Reading::default()).expect_err(text);
            assert!(error.message.contains("2026-05-28T07:40"), "{error}");
        }
        assert!(zone("Iowa").expect_err("no zone").hint.expect("a hint").contains("America/Chicago"));
    }
}
