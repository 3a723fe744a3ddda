//! The tables of yield by planting date and stand, as they are printed.

use super::season::MonthDay;
use crate::catalogue::Origin;

/// A table as it is printed: a row for each planting date or range of dates, a column for each stand or range of
/// stands. A value holds from the first to the last day of its range; between two ranges lies a straight line.
pub(super) struct Grid {
    /// Stands, thousands of plants per acre, from and to.
    pub(super) stands: &'static [(f64, f64)],
    pub(super) rows: &'static [DateRow],
}

/// One date or range of dates, and the yields of the stands, % of full yield.
pub(super) struct DateRow {
    pub(super) first: MonthDay,
    pub(super) last: MonthDay,
    pub(super) percent: &'static [f64],
    pub(super) origin: Origin,
}

/// A cell that is not printed, or could not be read.
pub(super) const BLANK: f64 = f64::NAN;

const fn on(month: i8, day: i8, percent: &'static [f64]) -> DateRow {
    from_to((month, day), (month, day), percent, Origin::Page)
}

const fn from_to(first: MonthDay, last: MonthDay, percent: &'static [f64], origin: Origin) -> DateRow {
    DateRow { first, last, percent, origin }
}

pub(super) const ILLINOIS: Grid = Grid {
    stands: &[
        (10.0, 10.0),
        (12.0, 12.0),
        (14.0, 14.0),
        (16.0, 16.0),
        (18.0, 18.0),
        (20.0, 20.0),
        (22.0, 22.0),
        (24.0, 24.0),
        (26.0, 26.0),
        (28.0, 28.0),
        (30.0, 30.0),
        (32.0, 32.0),
        (34.0, 34.0),
        (36.0, 36.0),
    ],
    rows: &[
        on(4, 10, &[62.0, 68.0, 73.0, 78.0, 82.0, 85.0, 88.0, 91.0, 92.0, 93.0, 94.0, 94.0, 93.0, 91.0]),
        // 14,000 and 18,000 are damaged in the copy of 2006; these are from the copy of 2012.
        on(4, 15, &[65.0, 71.0, 76.0, 81.0, 85.0, 88.0, 91.0, 94.0, 95.0, 96.0, 97.0, 96.0, 96.0, 94.0]),
        on(4, 20, &[67.0, 73.0, 78.0, 83.0, 87.0, 90.0, 93.0, 96.0, 97.0, 98.0, 99.0, 98.0, 98.0, 96.0]),
        on(4, 25, &[68.0, 74.0, 79.0, 84.0, 88.0, 92.0, 94.0, 97.0, 98.0, 99.0, 100.0, 100.0, 99.0, 97.0]),
        on(4, 30, &[68.0, 74.0, 79.0, 84.0, 88.0, 92.0, 95.0, 97.0, 99.0, 100.0, 100.0, 100.0, 99.0, 97.0]),
        on(5, 5, &[67.0, 73.0, 79.0, 83.0, 87.0, 91.0, 94.0, 96.0, 98.0, 99.0, 99.0, 99.0, 98.0, 97.0]),
        on(5, 10, &[65.0, 71.0, 77.0, 82.0, 86.0, 89.0, 92.0, 94.0, 96.0, 97.0, 97.0, 97.0, 96.0, 95.0]),
        on(5, 15, &[63.0, 69.0, 74.0, 79.0, 83.0, 87.0, 89.0, 92.0, 93.0, 94.0, 95.0, 95.0, 94.0, 92.0]),
        on(5, 20, &[59.0, 65.0, 71.0, 75.0, 80.0, 83.0, 86.0, 88.0, 90.0, 91.0, 91.0, 91.0, 90.0, 89.0]),
        on(5, 25, &[55.0, 61.0, 66.0, 71.0, 75.0, 79.0, 81.0, 84.0, 85.0, 86.0, 87.0, 87.0, 86.0, 84.0]),
        on(5, 30, &[49.0, 55.0, 61.0, 65.0, 70.0, 73.0, 76.0, 78.0, 80.0, 81.0, 81.0, 81.0, 80.0, 79.0]),
        on(6, 4, &[43.0, 49.0, 54.0, 59.0, 63.0, 67.0, 70.0, 72.0, 74.0, 75.0, 75.0, 75.0, 74.0, 73.0]),
        on(6, 9, &[36.0, 42.0, 47.0, 52.0, 56.0, 60.0, 62.0, 65.0, 66.0, 67.0, 68.0, 68.0, 67.0, 65.0]),
    ],
};

pub(super) const IOWA_2001: Grid = Grid {
    stands: &[(12.0, 12.0), (16.0, 16.0), (20.0, 20.0), (24.0, 24.0), (28.0, 32.0)],
    rows: &[
        from_to((4, 20), (5, 5), &[68.0, 74.0, 81.0, 94.0, 100.0], Origin::Page),
        from_to((5, 13), (5, 19), &[67.0, 73.0, 80.0, 93.0, 99.0], Origin::Page),
        from_to((5, 26), (6, 1), &[61.0, 67.0, 73.0, 85.0, 90.0], Origin::Page),
        from_to((6, 10), (6, 16), &[46.0, 50.0, 55.0, 64.0, 68.0], Origin::Page),
        from_to((6, 24), (6, 28), &[35.0, 38.0, 42.0, 49.0, 52.0], Origin::Page),
    ],
};

/// Stands of 30,000 and 35,000 are read on the page, of 25,000 up to 25 May and of 20,000 up to 5 May; the other
/// cells are the first row times the row's own ratio (0.96, 0.87, 0.70, 0.54).
pub(super) const IOWA_2010: Grid = Grid {
    stands: &[(20.0, 20.0), (25.0, 25.0), (30.0, 30.0), (35.0, 35.0)],
    rows: &[
        from_to((4, 20), (5, 5), &[89.0, 95.0, 99.0, 100.0], Origin::Page),
        from_to((5, 5), (5, 15), &[85.0, 91.0, 95.0, 96.0], Origin::Derived),
        from_to((5, 15), (5, 25), &[77.0, 83.0, 86.0, 87.0], Origin::Derived),
        from_to((5, 25), (6, 5), &[62.0, 66.5, 69.0, 70.0], Origin::Derived),
        from_to((6, 5), (6, 15), &[48.0, 51.0, 53.0, 54.0], Origin::Derived),
    ],
};

const WISCONSIN_STANDS: &[(f64, f64)] =
    &[(26.0, 26.0), (28.0, 28.0), (30.0, 30.0), (32.0, 32.0), (34.0, 34.0), (36.0, 36.0)];

pub(super) const WISCONSIN_FULL: Grid = Grid {
    stands: WISCONSIN_STANDS,
    rows: &[
        on(4, 20, &[94.0, 96.0, 96.0, 97.0, 97.0, 96.0]),
        on(5, 1, &[97.0, 99.0, 100.0, 100.0, 100.0, 99.0]),
        on(5, 10, &[93.0, 95.0, 96.0, 96.0, 96.0, 95.0]),
        on(5, 20, &[83.0, 84.0, 85.0, 86.0, 85.0, 85.0]),
        on(6, 1, &[62.0, 63.0, 63.0, 63.0, 63.0, 63.0]),
        on(6, 10, &[39.0, 40.0, 40.0, 40.0, 40.0, 40.0]),
        on(6, 20, &[BLANK, 8.0, 8.0, 8.0, 8.0, 8.0]),
    ],
};

pub(super) const WISCONSIN_SHORT: Grid = Grid {
    stands: WISCONSIN_STANDS,
    rows: &[
        on(4, 20, &[89.0, 91.0, 92.0, 92.0, 92.0, 91.0]),
        on(5, 1, &[93.0, 95.0, 96.0, 96.0, 96.0, 95.0]),
        on(5, 10, &[92.0, 93.0, 94.0, 94.0, 94.0, 93.0]),
        on(5, 20, &[85.0, 86.0, 87.0, 87.0, 87.0, 87.0]),
        on(6, 1, &[70.0, 71.0, 72.0, 72.0, 72.0, 71.0]),
        on(6, 10, &[BLANK, 55.0, 56.0, 56.0, 56.0, 55.0]),
        on(6, 20, &[BLANK, 32.0, 32.0, 32.0, 32.0, 32.0]),
    ],
};
