//! A day within its season, whatever the year.

use jiff::civil::Date;

/// Days in the months before March to December, counted from 1 March, which no leap day comes between.
const BEFORE: [f64; 10] = [0.0, 31.0, 61.0, 92.0, 122.0, 153.0, 184.0, 214.0, 245.0, 275.0];

const NAMES: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// A month and a day of a table.
pub(super) type MonthDay = (i8, i8);

/// Returns the days from 1 March of the same year; negative before it.
pub(super) fn day_of_season((month, day): MonthDay) -> f64 {
    match month {
        3..=12 => BEFORE[usize::from((month - 3).unsigned_abs())] + f64::from(day) - 1.0,
        2 => f64::from(day) - 29.0,
        _ => f64::from(day) - 60.0,
    }
}

/// Returns the month and the day of a date.
pub(super) fn month_day(date: Date) -> MonthDay {
    (date.month(), date.day())
}

/// Returns a month and a day as people say it.
pub(super) fn day_name((month, day): MonthDay) -> String {
    format!("{day} {}", NAMES[usize::from((month - 1).unsigned_abs()).min(11)])
}

#[cfg(test)]
mod tests {
    use super::{day_of_season, month_day};
    use jiff::civil::date;

    #[test]
    fn a_leap_year_counts_like_any_other() {
        for (month, day) in [(3, 1), (4, 10), (5, 31), (6, 1), (12, 31)] {
            let (common, leap) = (date(2026, month, day), date(2028, month, day));
            assert_eq!(day_of_season(month_day(common)), day_of_season(month_day(leap)));
            let march = date(2028, 3, 1);
            assert_eq!(day_of_season((month, day)), f64::from(march.until(leap).expect("days").get_days()));
        }
    }

    #[test]
    fn days_follow_each_other() {
        let mut day = date(2026, 1, 1);
        while day.year() == 2026 {
            let next = day.tomorrow().expect("in range");
            if next.year() == 2026 {
                assert_eq!(day_of_season(month_day(next)) - day_of_season(month_day(day)), 1.0, "{day}");
            }
            day = next;
        }
    }
}
