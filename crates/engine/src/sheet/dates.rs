//! Dates and times in the forms in which people write them into sheets.

use jiff::civil::{Date, DateTime, Time};
use serde::{Deserialize, Serialize};

use crate::phrases::Phrase;
use crate::reading::Reading;

/// The order of day, month and year in dates written with numbers alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DateOrder {
    /// Month, day, year: `5/28/2026`.
    Mdy,
    /// Day, month, year: `28/5/2026`.
    Dmy,
    /// Days since the end of 1899, as a spreadsheet keeps them: `46170`.
    Serial,
}

/// What the dates of a column tell of their order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Evidence {
    /// No date needs an order.
    None,
    /// One date can be read in one order only, and none in the other only.
    Clear(DateOrder, String),
    /// Every date that needs an order can be read in both.
    Ambiguous,
    /// One date can be read in one order only, another in the other only.
    Mixed(String, String),
}

/// Looks for a date that can be read in one order only.
pub(super) fn order_of<'a>(texts: impl Iterator<Item = &'a str>) -> Evidence {
    let (mut month_first, mut day_first, mut either) = (None, None, false);
    for text in texts {
        let Some((one, other, _)) = text.split_whitespace().next().and_then(numbers) else { continue };
        let slot = match (one > 12, other > 12) {
            (true, false) => &mut day_first,
            (false, true) => &mut month_first,
            _ if one == other => continue,
            _ => {
                either = true;
                continue;
            }
        };
        slot.get_or_insert_with(|| text.trim().to_owned());
    }
    match (month_first, day_first, either) {
        (Some(one), Some(other), _) => Evidence::Mixed(one, other),
        (Some(example), None, _) => Evidence::Clear(DateOrder::Mdy, example),
        (None, Some(example), _) => Evidence::Clear(DateOrder::Dmy, example),
        (None, None, true) => Evidence::Ambiguous,
        (None, None, false) => Evidence::None,
    }
}

/// Reads a date, and a time of day behind it where there is one.
///
/// *Errors:* what was expected, in words.
pub(super) fn read(text: &str, order: Option<DateOrder>, reading: &Reading) -> Result<(Date, Option<Time>), String> {
    let text = text.trim();
    if let Ok(date) = text.parse::<Date>()
        && text.len() <= 10
    {
        return Ok((date, None));
    }
    if let Ok(at) = text.parse::<DateTime>()
        && text.contains(':')
    {
        return Ok((at.date(), Some(at.time())));
    }
    if text.len() >= 4 && text.bytes().all(|b| b.is_ascii_digit() || b == b'.') && text.parse::<f64>().is_ok() {
        return serial(text, order, reading);
    }
    // A time stands last and has a colon; `p. m.` belongs to it.
    let (day, time) = match text.find(':') {
        None => (text, None),
        Some(colon) => {
            let start =
                text[..colon].rfind(|c: char| c.is_whitespace() || c == 'T').ok_or_else(|| expected(text, reading))?;
            (text[..start].trim().trim_end_matches(','), Some(read_time(text[start + 1..].trim(), reading)?))
        }
    };
    Ok((read_day(day, order, reading).map_err(|error| error.unwrap_or_else(|| expected(text, reading)))?, time))
}

/// Reads a time of day: `7:40`, `07:40:30`, `7:40 PM`, `7:40 p. m.`
pub(super) fn read_time(text: &str, reading: &Reading) -> Result<Time, String> {
    let wrong = || reading.say(Phrase::TimeExpected, &[("text", &text)]);
    let lower: String = text.to_lowercase().chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
    let (clock, afternoon) = if let Some(clock) = lower.strip_suffix("pm") {
        (clock, Some(true))
    } else if let Some(clock) = lower.strip_suffix("am") {
        (clock, Some(false))
    } else {
        (lower.as_str(), None)
    };
    let mut parts = clock.split(':').map(|part| {
        let plain = (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        part.parse::<i8>().ok().filter(|_| plain)
    });
    let (hour, minute) = (parts.next().flatten().ok_or_else(wrong)?, parts.next().flatten().ok_or_else(wrong)?);
    let second = match parts.next() {
        None => 0,
        Some(second) => second.ok_or_else(wrong)?,
    };
    let hour = match afternoon {
        None => hour,
        Some(after) if (1..=12).contains(&hour) => hour % 12 + if after { 12 } else { 0 },
        Some(_) => return Err(wrong()),
    };
    if parts.next().is_some() {
        return Err(wrong());
    }
    Time::new(hour, minute, second, 0).map_err(|_| wrong())
}

/// Writes a date of a sheet as `2026-05-28`, with the time of day where it has one.
pub(super) fn written(at: DateTime) -> String {
    if at.time() == Time::midnight() { at.date().to_string() } else { at.to_string() }
}

/// Writes the time of day that lies so many seconds after another.
pub(super) fn clock(start: DateTime, seconds: i64) -> Option<String> {
    let time = start.checked_add(jiff::SignedDuration::from_secs(seconds)).ok()?.time();
    let format = if time.second() == 0 { "%H:%M" } else { "%H:%M:%S" };
    Some(time.strftime(format).to_string())
}

fn expected(text: &str, reading: &Reading) -> String {
    reading.say(Phrase::DateExpected, &[("text", &text)])
}

fn serial(text: &str, order: Option<DateOrder>, reading: &Reading) -> Result<(Date, Option<Time>), String> {
    if order != Some(DateOrder::Serial) {
        // `20260528` is ISO 8601, too.
        return match (text.len(), text.parse::<Date>()) {
            (8, Ok(date)) => Ok((date, None)),
            _ => Err(reading.say(Phrase::DayNumber, &[("text", &text)])),
        };
    }
    let days: f64 = text.parse().map_err(|_| expected(text, reading))?;
    let seconds = (days * 86_400.0).round();
    // From March 1900, before which the count is wrong by a day, to the end of the year 9999.
    if !(61.0..2_958_466.0).contains(&days) {
        return Err(expected(text, reading));
    }
    let midnight = Date::constant(1899, 12, 30).at(0, 0, 0, 0);
    let at =
        midnight.checked_add(jiff::SignedDuration::from_secs(seconds as i64)).map_err(|_| expected(text, reading))?;
    Ok((at.date(), text.contains('.').then(|| at.time())))
}

/// Reads a day of three parts. `Err(None)` where it is none.
fn read_day(text: &str, order: Option<DateOrder>, reading: &Reading) -> Result<Date, Option<String>> {
    if let Ok(date) = text.parse::<Date>() {
        return Ok(date);
    }
    if let Some((one, other, year)) = numbers(text) {
        let (month, day) = match (order, one > 12, other > 12) {
            (Some(DateOrder::Mdy), ..) => (one, other),
            (Some(DateOrder::Dmy), ..) => (other, one),
            (_, true, false) => (other, one),
            (_, false, true) => (one, other),
            _ if one == other => (one, other),
            _ => {
                return Err(Some(reading.say(Phrase::DateTwoWays, &[("text", &text)])));
            }
        };
        let none = if order == Some(DateOrder::Dmy) { Phrase::NoDateDmy } else { Phrase::NoDateMdy };
        return Date::new(year, month, day).map_err(|_| Some(reading.say(none, &[("text", &text)])));
    }
    if let Some((year, rest)) = text.split_once(['/', '.']).filter(|(year, _)| year.len() == 4) {
        let parts: Vec<&str> = rest.split(['/', '.']).collect();
        if let ([month, day], Some(year)) = (parts.as_slice(), small(year))
            && let (Some(month), Some(day)) = (small(month), small(day))
        {
            return Date::new(year, i8::try_from(month).unwrap_or(0), i8::try_from(day).unwrap_or(0)).map_err(|_| None);
        }
    }
    named(text).ok_or(None)
}

fn small(text: &str) -> Option<i16> {
    (text.len() <= 4 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok()).flatten()
}

/// Takes `5/28/2026`, `28.05.26`, `5-28-2026` apart.
fn numbers(text: &str) -> Option<(i8, i8, i16)> {
    let separator = text.chars().find(|c| !c.is_ascii_digit()).filter(|c| matches!(c, '/' | '.' | '-'))?;
    let parts: Vec<&str> = text.split(separator).collect();
    let [one, other, year] = parts.as_slice() else { return None };
    let short = |part: &str| small(part).filter(|_| part.len() <= 2).and_then(|n| i8::try_from(n).ok());
    let year = match year.len() {
        2 => 2000 + small(year)?,
        4 => small(year)?,
        _ => return None,
    };
    Some((short(one)?, short(other)?, year))
}

/// The first three letters of the months, in English and in Spanish.
const MONTHS: [[&str; 2]; 12] = [
    ["jan", "ene"],
    ["feb", "feb"],
    ["mar", "mar"],
    ["apr", "abr"],
    ["may", "may"],
    ["jun", "jun"],
    ["jul", "jul"],
    ["aug", "ago"],
    ["sep", "sep"],
    ["oct", "oct"],
    ["nov", "nov"],
    ["dec", "dic"],
];

/// Reads `28 May 2026`, `May 28, 2026`, `28-may-2026`, `28 de mayo de 2026`.
fn named(text: &str) -> Option<Date> {
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| c.is_whitespace() || matches!(c, ',' | '-' | '/' | '.'));
    let words: Vec<&str> = words.filter(|word| !word.is_empty() && !matches!(*word, "de" | "del")).collect();
    let [one, other, year] = words.as_slice() else { return None };
    let month = |word: &str| {
        let letters = word.len() >= 3 && word.chars().all(char::is_alphabetic);
        let at = MONTHS.iter().position(|names| names.iter().any(|name| word.starts_with(name)))?;
        i8::try_from(at + 1).ok().filter(|_| letters)
    };
    let day = |word: &str| {
        let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let ending = &word[digits.len()..];
        let day = small(digits).and_then(|n| i8::try_from(n).ok());
        day.filter(|_| matches!(ending, "" | "st" | "nd" | "rd" | "th"))
    };
    let year = match year.len() {
        2 => 2000 + small(year)?,
        4 => small(year)?,
        _ => return None,
    };
    let (month, day) = match (month(one), month(other)) {
        (Some(month), None) => (month, day(other)?),
        (None, Some(month)) => (month, day(one)?),
        _ => return None,
    };
    Date::new(year, month, day).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str, order: Option<DateOrder>) -> String {
        match read(text, order, &Reading::default()) {
            Ok((date, None)) => date.to_string(),
            Ok((date, Some(time))) => format!("{date} {time}"),
            Err(why) => why,
        }
    }

    #[test]
    fn dates_are_read_as_people_write_them() {
        for text in [
            "2026-05-28",
            " 2026-05-28 ",
            "2026/5/28",
            "2026.05.28",
            "20260528",
            "28 May 2026",
            "28-May-26",
            "May 28, 2026",
            "may 28th 2026",
            "28 de mayo de 2026",
            "28 mayo 2026",
            "5/28/2026",
            "28/5/2026",
            "28.05.2026",
            "5-28-26",
        ] {
            assert_eq!(said(text, None), "2026-05-28", "{text}");
        }
        for text in
            ["2026-05-28 07:40", "2026-05-28T07:40:00", "5/28/2026 7:40 AM", "28/5/26 7:40", "May 28, 2026, 7:40 a. m."]
        {
            assert_eq!(said(text, None), "2026-05-28 07:40:00", "{text}");
        }
        assert_eq!(said("12 ago 2026", None), "2026-08-12");
        assert_eq!(said("5/28/2026 12:05 PM", None), "2026-05-28 12:05:00");
        assert_eq!(said("5/28/2026 12:05 AM", None), "2026-05-28 00:05:00");
    }

    #[test]
    fn what_can_be_read_in_two_ways_is_refused_until_it_is_said() {
        assert!(said("5/6/2026", None).contains("--dates mdy"));
        assert_eq!(said("5/6/2026", Some(DateOrder::Mdy)), "2026-05-06");
        assert_eq!(said("5/6/2026", Some(DateOrder::Dmy)), "2026-06-05");
        assert_eq!(said("5/5/2026", None), "2026-05-05");
        assert_eq!(said("28/5/2026", Some(DateOrder::Mdy)), "`28/5/2026` is no date as month/day/year");
    }

    #[test]
    fn numbers_of_days_are_refused_until_it_is_said() {
        assert!(said("46170", None).contains("--dates serial"));
        // 39448 is the first of January 2008: Microsoft's documentation of the function DATE; openpyxl agrees.
        assert_eq!(said("39448", Some(DateOrder::Serial)), "2008-01-01");
        assert_eq!(said("39448.5", Some(DateOrder::Serial)), "2008-01-01 12:00:00");
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            "",
            "yesterday",
            "2026-13-01",
            "32/1/2026",
            "31 Feb 2026",
            "May 2026",
            "5/28",
            "1:2",
            ":",
            "28 ma 2026",
            "ñandú",
            "7:40",
            "1.5.2.3",
            "2026-05-28 25:00",
        ] {
            assert!(read(text, None, &Reading::default()).is_err(), "{text}");
        }
    }

    #[test]
    fn one_date_tells_the_order_of_its_column() {
        let order = |texts: &[&str]| order_of(texts.iter().copied());
        assert_eq!(order(&["5/6/2026", "28/5/2026 07:40"]), Evidence::Clear(DateOrder::Dmy, "28/5/2026 07:40".into()));
        assert_eq!(order(&["5/6/2026", "5/5/2026"]), Evidence::Ambiguous);
        assert_eq!(order(&["5/28/2026", "28/5/2026"]), Evidence::Mixed("5/28/2026".into(), "28/5/2026".into()));
        assert_eq!(order(&["2026-05-06", "5/5/2026", "x"]), Evidence::None);
    }
}
