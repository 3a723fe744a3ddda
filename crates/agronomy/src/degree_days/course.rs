//! Degree days day by day from a start date, with every gap known by its date.

use jiff::ToSpan;
use jiff::civil::Date;
use ligule_units::{DegreeDays, Temperature};

use crate::degree_days::{Accumulation, Model};
use crate::error::{Error, within};

/// The longest course that is reckoned: a hundred years.
const LONGEST: f64 = 36_525.0;

/// One day of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StationDay {
    /// The day.
    pub date: Date,
    /// Its maximum; `None` if it is missing.
    pub maximum: Option<Temperature>,
    /// Its minimum; `None` if it is missing.
    pub minimum: Option<Temperature>,
}

/// Degree days of every day from one date to another, both included.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    model: Model,
    start: Date,
    /// One entry a day; `None` is a gap.
    daily: Vec<Option<DegreeDays>>,
}

/// When a sum was reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reached {
    /// The first day at whose end the sum was there.
    pub on: Date,
    /// Days up to it that were gaps: with them the sum was reached on this day or earlier.
    pub gaps_before: usize,
}

impl Course {
    /// Returns the degree days of each day from `start` to `end`, both included.
    ///
    /// Days of the station outside that time are left aside; a day of it that is not there, or lacks a temperature, is
    /// a gap with its date, never a zero and never filled.
    ///
    /// *Holds:* up to 36,525 days, as [`Model::day`]. *Errors:* [`Error::OutOfRange`] for an end before the start or
    /// temperatures out of range; [`Error::Day`], counted from the start; [`Error::DayTwice`]. *Source:* see
    /// [`Method`](crate::degree_days::Method).
    ///
    /// The example of University of Wisconsin Extension, Calculating growing degree days, with a day between that
    /// nobody wrote down: 25.5 + 11.0 + 6.5.
    /// ```
    /// use jiff::civil::date;
    /// use ligule_agronomy::degree_days::{Course, Model, StationDay};
    /// use ligule_units::Temperature;
    /// let day = |day, high, low| StationDay {
    ///     date: date(2026, 5, day),
    ///     maximum: Some(Temperature::from_fahrenheit(high)),
    ///     minimum: Some(Temperature::from_fahrenheit(low)),
    /// };
    /// let days = [day(1, 90.0, 65.0), day(2, 72.0, 46.0), day(4, 63.0, 42.0)];
    /// let course = Course::new(days, date(2026, 5, 1), date(2026, 5, 4), &Model::corn())?;
    /// assert!((course.accumulation().sum.fahrenheit() - 43.0).abs() < 1e-9);
    /// assert_eq!(course.gaps(), [date(2026, 5, 3)]);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn new<I>(days: I, start: Date, end: Date, model: &Model) -> Result<Self, Error>
    where
        I: IntoIterator<Item = StationDay>,
    {
        let span = days_between(start, end);
        within("days from start to end", span as f64, 0.0, LONGEST, "")?;
        let mut daily = vec![None; span as usize + 1];
        let mut seen = vec![false; daily.len()];
        for station in days {
            let index = days_between(start, station.date);
            if index < 0 || index > span {
                continue;
            }
            let index = index as usize;
            if std::mem::replace(&mut seen[index], true) {
                return Err(Error::DayTwice { day: station.date });
            }
            if let (Some(maximum), Some(minimum)) = (station.maximum, station.minimum) {
                let sum = model.day(maximum, minimum);
                daily[index] = Some(sum.map_err(|reason| Error::Day { day: index + 1, reason: Box::new(reason) })?);
            }
        }
        Ok(Self { model: *model, start, daily })
    }

    /// Returns the model by which it was reckoned.
    pub const fn model(&self) -> &Model {
        &self.model
    }

    /// Returns its first day.
    pub const fn start(&self) -> Date {
        self.start
    }

    /// Returns its last day.
    pub fn end(&self) -> Date {
        self.date(self.daily.len() - 1)
    }

    /// Returns the degree days of each day, `None` for a gap.
    pub fn daily(&self) -> &[Option<DegreeDays>] {
        &self.daily
    }

    /// Returns the degree days of a day; `None` if it is a gap or outside the course.
    pub fn on(&self, date: Date) -> Option<DegreeDays> {
        let index = usize::try_from(days_between(self.start, date)).ok()?;
        self.daily.get(index).copied().flatten()
    }

    /// Returns the sum, and how many days of it are there.
    pub fn accumulation(&self) -> Accumulation {
        let there = self.daily.iter().flatten();
        let days = there.clone().count();
        Accumulation { sum: there.copied().sum(), days, missing: self.daily.len() - days }
    }

    /// Returns the dates of the gaps.
    pub fn gaps(&self) -> Vec<Date> {
        let gaps = self.daily.iter().enumerate().filter(|(_, day)| day.is_none());
        gaps.map(|(index, _)| self.date(index)).collect()
    }

    /// Returns the first day at whose end `target` was reached, if it was.
    pub fn reached(&self, target: DegreeDays) -> Option<Reached> {
        let (mut sum, mut gaps_before) = (DegreeDays::zero(), 0);
        for (index, day) in self.daily.iter().enumerate() {
            match day {
                Some(day) => sum = sum + *day,
                None => gaps_before += 1,
            }
            if reaches(sum, target) {
                return Some(Reached { on: self.date(index), gaps_before });
            }
        }
        None
    }

    fn date(&self, index: usize) -> Date {
        self.start.saturating_add((index as i64).days())
    }
}

/// Returns whether a sum has reached a target, whatever the conversion between scales left behind.
pub(super) fn reaches(sum: DegreeDays, target: DegreeDays) -> bool {
    sum.celsius() >= target.celsius() - 1e-9
}

/// Returns how many days lie from one date to another; negative if the other is earlier.
pub(super) fn days_between(from: Date, to: Date) -> i64 {
    // Between two civil dates a span of days always exists.
    i64::from(from.until(to).map_or(0, |span| span.get_days()))
}
