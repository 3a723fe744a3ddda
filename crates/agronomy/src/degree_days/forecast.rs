//! The date on which a stage will be reached, from the station's own past years.

use jiff::ToSpan;
use jiff::civil::Date;
use ligule_units::DegreeDays;

use crate::degree_days::course::reaches;
use crate::degree_days::{Course, FORECAST_MISSING_LIMIT};
use crate::error::{Error, within};

/// The fewest past years from which a date is foretold. Common practice, no source; climate normals take thirty.
pub const LEAST_YEARS: usize = 5;

/// How far ahead a stage is looked for, days after the start of the season's course. Common practice, no source.
pub const FORECAST_HORIZON: usize = 200;

/// How a past year, from the same day of the year on, would carry the season to the sum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearAhead {
    /// The year.
    pub year: i16,
    /// The date of this season on which its course reaches the sum; `None` if it does not within the horizon.
    pub reached: Option<Date>,
    /// Gaps of that year on the way for which the mean of the other years was taken.
    pub filled: usize,
}

/// The date of a stage that lies ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead {
    /// The date by the mean of each day over the past years; `None` if it is not reached within the horizon.
    pub by_normals: Option<Date>,
    /// What each past year gives by its own course, in order of years.
    pub years: Vec<YearAhead>,
    /// Years that lack more than 5 % of the days on the way: told, not used.
    pub left_out: Vec<i16>,
}

/// What can be said of the date of a stage.
#[derive(Debug, Clone, PartialEq)]
pub enum StageForecast {
    /// The season's own course has reached the sum.
    Reached {
        /// The day, and the gaps before it.
        reached: crate::degree_days::Reached,
    },
    /// It lies ahead.
    Ahead(Ahead),
}

impl Ahead {
    /// Returns the date by which the given share of the past years had reached the sum; `None` if too few years reached
    /// it within the horizon.
    ///
    /// The date is that of the first year, in order of dates, at which the share is full; nothing is interpolated
    /// between years, so that with few years the tails are single years. *Holds:* shares of 0 to 1. *Errors:*
    /// [`Error::OutOfRange`]. *Source:* definition.
    ///
    /// Five years, four of which reached the sum (counted by hand): half of five is reached with the third.
    /// ```
    /// use jiff::civil::date;
    /// use ligule_agronomy::degree_days::{Ahead, YearAhead};
    /// let years = [None, Some(24), Some(20), Some(22), Some(30)];
    /// let years = years.iter().zip(2021..).map(|(day, year)| {
    ///     YearAhead { year, reached: day.map(|day| date(2026, 6, day)), filled: 0 }
    /// });
    /// let ahead = Ahead { by_normals: None, years: years.collect(), left_out: vec![] };
    /// assert_eq!(ahead.quantile(0.5)?, Some(date(2026, 6, 24)));
    /// assert_eq!(ahead.quantile(0.9)?, None);
    /// # Ok::<(), ligule_agronomy::Error>(())
    /// ```
    pub fn quantile(&self, share: f64) -> Result<Option<Date>, Error> {
        let share = within("a share of years", share, 0.0, 1.0, "")?;
        let mut dates: Vec<Date> = self.years.iter().filter_map(|year| year.reached).collect();
        dates.sort_unstable();
        // A share that is a whole number of years but for rounding is that number.
        let rank = (share * self.years.len() as f64 - 1e-9).ceil().max(1.0) as usize;
        Ok(dates.get(rank - 1).copied())
    }

    /// Returns how many of the years reach the sum within the horizon.
    pub fn years_reaching(&self) -> usize {
        self.years.iter().filter(|year| year.reached.is_some()).count()
    }
}

/// Returns the date on which a season reaches a sum of degree days: by the station's normals, with the spread of its
/// years.
///
/// The sum so far is carried on in two ways: by the mean of each calendar day over all earlier years of the station
/// (its normals), which gives one date; and by each earlier year's own course, which gives a date a year, and so a
/// spread.
///
/// *Holds:* at most 5 % of the season's days missing; at least five earlier years that have 95 % of the days on the
/// way; 200 days from the season's start, after which frost has decided. Both courses by the same model. What the stage
/// needs is uncertain too; this is the spread of the weather alone. *Errors:* [`Error::OutOfRange`],
/// [`Error::Thresholds`] for two models, [`Error::TooFew`]. *Source:* common practice, no source for the limits.
///
/// Reckoned by hand: 20 °F days each day of 1 to 10 May 2026 make 200; five years of 10, 20, 20, 25 and 50 each day
/// make normals of 25. The 100 that lack take 4 days by the normals, 10 to 2 by the years.
/// ```
/// use jiff::{ToSpan, civil::date};
/// use ligule_agronomy::degree_days::{Course, Method, Model, StageForecast, StationDay, forecast_stage};
/// use ligule_units::{DegreeDays, Temperature};
/// let model = Model::new(Method::SimpleAverage, Temperature::from_fahrenheit(50.0), None)?;
/// let day = |date, sum: f64| {
///     let steady = Some(Temperature::from_fahrenheit(50.0 + sum));
///     StationDay { date, maximum: steady, minimum: steady }
/// };
/// let season = date(2026, 5, 1).series(1.day()).take(10).map(|date| day(date, 20.0));
/// let season = Course::new(season, date(2026, 5, 1), date(2026, 5, 10), &model)?;
/// let past = date(2021, 1, 1).series(1.day()).take(5 * 365 + 1)
///     .map(|date| day(date, [10.0, 20.0, 20.0, 25.0, 50.0][(date.year() - 2021) as usize]));
/// let past = Course::new(past, date(2021, 1, 1), date(2025, 12, 31), &model)?;
/// let StageForecast::Ahead(ahead) = forecast_stage(&season, &past, DegreeDays::from_fahrenheit(300.0))? else { panic!() };
/// assert_eq!(ahead.by_normals, Some(date(2026, 5, 14)));
/// assert_eq!(ahead.quantile(0.0)?, Some(date(2026, 5, 12)));
/// assert_eq!(ahead.quantile(0.5)?, Some(date(2026, 5, 15)));
/// assert_eq!(ahead.quantile(1.0)?, Some(date(2026, 5, 20)));
/// # Ok::<(), ligule_agronomy::Error>(())
/// ```
pub fn forecast_stage(season: &Course, past: &Course, target: DegreeDays) -> Result<StageForecast, Error> {
    if season.model() != past.model() {
        let came = format!("{} and {}", season.model(), past.model());
        return Err(Error::Thresholds { expected: "both courses by the same model", came });
    }
    within("degree days to a stage", target.fahrenheit(), 1.0, 10_000.0, " °F·d")?;
    let so_far = season.accumulation();
    within("the share of missing days", so_far.missing_share(), 0.0, FORECAST_MISSING_LIMIT, "")?;
    if let Some(reached) = season.reached(target) {
        return Ok(StageForecast::Reached { reached });
    }
    within("days since the start", season.daily().len() as f64, 1.0, FORECAST_HORIZON as f64, "")?;
    let ahead = FORECAST_HORIZON - season.daily().len();
    let next = season.end().saturating_add(1.day());
    let years: Vec<(i16, Vec<Option<DegreeDays>>)> = (past.start().year()
        ..next.year().min(past.end().year().saturating_add(1)))
        .map(|year| {
            let same = same_day(next, year);
            (year, same.series(1.day()).take(ahead).map(|date| past.on(date)).collect())
        })
        .collect();
    let normals: Vec<Option<DegreeDays>> = (0..ahead)
        .map(|day| {
            let there: Vec<DegreeDays> = years.iter().filter_map(|(_, days)| days[day]).collect();
            let sum: DegreeDays = there.iter().copied().sum();
            (!there.is_empty()).then(|| DegreeDays::from_celsius(sum.celsius() / there.len() as f64))
        })
        .collect();
    let date_after = |index: usize| next.saturating_add((index as i64).days());
    let (mut found, mut left_out) = (Vec::new(), Vec::new());
    for (year, days) in &years {
        let walk = walk(so_far.sum, target, days, &normals);
        if walk.gaps as f64 > FORECAST_MISSING_LIMIT * walk.days as f64 {
            left_out.push(*year);
        } else {
            found.push(YearAhead { year: *year, reached: walk.reached.map(date_after), filled: walk.gaps });
        }
    }
    if found.len() < LEAST_YEARS {
        return Err(Error::TooFew {
            what: "past years with 95 % of their days",
            needed: LEAST_YEARS,
            came: found.len(),
        });
    }
    let by_normals = walk(so_far.sum, target, &normals, &normals).reached.map(date_after);
    Ok(StageForecast::Ahead(Ahead { by_normals, years: found, left_out }))
}

/// Returns the same day of another year; 29 February becomes the 28th.
fn same_day(date: Date, year: i16) -> Date {
    let with_day = |day| date.with().year(year).day(day).build();
    with_day(date.day()).or_else(|_| with_day(28)).unwrap_or(date)
}

struct Walk {
    reached: Option<usize>,
    days: usize,
    gaps: usize,
}

/// Adds day after day until the target; a gap counts and takes the normal of its day.
fn walk(from: DegreeDays, target: DegreeDays, days: &[Option<DegreeDays>], normals: &[Option<DegreeDays>]) -> Walk {
    let (mut sum, mut gaps) = (from, 0);
    for (index, day) in days.iter().enumerate() {
        gaps += usize::from(day.is_none());
        sum = sum + day.or(normals[index]).unwrap_or_else(DegreeDays::zero);
        if reaches(sum, target) {
            return Walk { reached: Some(index), days: index + 1, gaps };
        }
    }
    Walk { reached: None, days: days.len(), gaps }
}
