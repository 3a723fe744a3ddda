//! Times as people type them, in the field's own time zone.

use jiff::civil::{Date, DateTime, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use crate::error::{EngineError, Result};
use crate::phrases::Phrase;
use crate::reading::Reading;

/// How far a typed time may lie ahead of this device's clock: a minute, since people round up.
const AHEAD: SignedDuration = SignedDuration::from_secs(60);

/// When something was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The instant.
    pub at: Timestamp,
    /// Minutes east of UTC at the field then.
    pub offset_minutes: i16,
    /// The field's day.
    pub day: Date,
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
/// When the text is no time, and, unless `accept` is set, when it lies in the future of this device's clock.
pub fn read(text: Option<&str>, zone: &TimeZone, now: Timestamp, accept: bool, reading: &Reading) -> Result<Moment> {
    let Some(text) = text.map(str::trim) else { return Ok(moment(now.to_zoned_datetime(zone.clone()))) };
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
        if matches!(zone.to_ambiguous_timestamp(local).offset(), AmbiguousOffset::Gap { .. }) {
            let skipped = reading.say(Phrase::WhenSkipped, &[("text", &text)]);
            return Err(EngineError::user(skipped, reading.word(Phrase::WhenOnTheClock)));
        }
        local
            .to_zoned_datetime(zone.clone())
            .map_err(|error| EngineError::user(format!("`{text}`: {error}"), reading.word(Phrase::CheckTheYear)))?
    };
    if !accept && zoned.timestamp() > now.checked_add(AHEAD).unwrap_or(now) {
        let clock = format!("{:.0}", now.to_zoned_datetime(zone.clone()).datetime());
        let ahead = reading.say(Phrase::WhenAhead, &[("text", &text), ("clock", &clock)]);
        return Err(EngineError::user(ahead, reading.word(Phrase::CorrectTheTime)));
    }
    Ok(moment(zoned))
}

fn moment(zoned: ZonedDateTime) -> Moment {
    let minutes = zoned.offset().seconds() / 60;
    // An offset is less than 26 hours, which is 1,560 minutes.
    Moment { at: zoned.timestamp(), offset_minutes: i16::try_from(minutes).unwrap_or_default(), day: zoned.date() }
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
    fn nonsense_is_answered_with_what_was_expected() {
        for text in ["yesterday", "2026-13-01", "25:00", ""] {
            let error = read(Some(text), &chicago(), now(), false, &Reading::default()).expect_err(text);
            assert!(error.message.contains("2026-05-28T07:40"), "{error}");
        }
        assert!(zone("Iowa").expect_err("no zone").hint.expect("a hint").contains("America/Chicago"));
    }
}
