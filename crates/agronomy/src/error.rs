//! Why a formula gave no answer.

/// Why a formula gave no answer: what was expected, what came, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A number outside the range in which the formula holds, infinite, or not a number.
    #[error("expected {what} from {least} to {most}{unit}, got {came}: check the number and its unit")]
    OutOfRange {
        /// The argument.
        what: &'static str,
        /// The least number accepted.
        least: f64,
        /// The greatest number accepted.
        most: f64,
        /// The unit of all three numbers, with a blank before it; empty for pure numbers.
        unit: &'static str,
        /// What came.
        came: f64,
    },
    /// Too few values to reckon with.
    #[error("expected at least {needed} {what}, got {came}: take more")]
    TooFew {
        /// What is counted.
        what: &'static str,
        /// How many are needed.
        needed: usize,
        /// How many came.
        came: usize,
    },
    /// More counts would be needed than anyone can take.
    #[error(
        "expected a precision that {limit} counts can reach, got one that needs more: accept a wider interval or split the field into zones"
    )]
    OutOfReach {
        /// The most counts considered.
        limit: usize,
    },
    /// More successes than trials.
    #[error("expected at most {trials} found of {trials} looked at, got {found}: check both numbers")]
    MoreFoundThanLookedAt {
        /// Successes.
        found: u64,
        /// Trials.
        trials: u64,
    },
    /// A text that names no stage of the crop.
    #[error("expected a {crop} stage ({expected}), got `{came}`")]
    UnknownStage {
        /// The crop.
        crop: &'static str,
        /// The stages that exist.
        expected: &'static str,
        /// What came.
        came: String,
    },
    /// A text that names no method of degree days.
    #[error("expected a method of degree days ({expected}), got `{came}`")]
    UnknownMethod {
        /// The methods that exist.
        expected: &'static str,
        /// What came.
        came: String,
    },
    /// A day whose maximum is below its minimum.
    #[error(
        "expected a maximum not below the minimum, got maximum {maximum:.1} °F and minimum {minimum:.1} °F: were the two exchanged?"
    )]
    MaximumBelowMinimum {
        /// The day's maximum, °F.
        maximum: f64,
        /// The day's minimum, °F.
        minimum: f64,
    },
    /// A day of a series that has an error of its own.
    #[error("day {day} of the series: {reason}")]
    Day {
        /// Which day, counted from 1.
        day: usize,
        /// What is wrong with it.
        reason: Box<Error>,
    },
    /// A day that a series has twice.
    #[error("expected each day once, got {day} twice: keep one of the two")]
    DayTwice {
        /// The day.
        day: jiff::civil::Date,
    },
    /// A look-up beyond the edge of a published table; nothing is extrapolated.
    #[error("outside the table: {table} has {what} {covers}, got {came}")]
    OutsideTable {
        /// The table.
        table: &'static str,
        /// What was looked up by.
        what: &'static str,
        /// What the table covers.
        covers: String,
        /// What came.
        came: String,
    },
    /// A worksheet was given something it does not ask for.
    #[error("expected one of {expected}, got `{came}`")]
    NotAsked {
        /// The inputs of the worksheet.
        expected: String,
        /// What came.
        came: String,
    },
    /// A worksheet lacks an input.
    #[error("expected `{input}` ({help}), got nothing")]
    Missing {
        /// The input.
        input: &'static str,
        /// What it is.
        help: &'static str,
    },
    /// An input of a worksheet is no quantity of its dimension.
    #[error("`{input}`: {reason}")]
    Quantity {
        /// The input.
        input: &'static str,
        /// Why it cannot be read.
        reason: ligule_units::Error,
    },
    /// A bare number below one where per cents are read: it may be meant as a share.
    #[error("`{input}`: `{came}` may mean {came} % or a share of {came}: write `{came}%`, or the share in per cent")]
    ShareOrPercent {
        /// The input.
        input: &'static str,
        /// What came.
        came: String,
    },
    /// An input of a worksheet is no number.
    #[error("`{input}`: expected a number{}, got `{came}`", if unit.is_empty() { String::new() } else { format!(" of {unit}") })]
    NoNumber {
        /// The input.
        input: &'static str,
        /// Its unit; empty for pure numbers.
        unit: &'static str,
        /// What came.
        came: String,
    },
    /// An input of a worksheet is no calendar day.
    #[error("`{input}`: expected a day such as `2026-05-28`, got `{came}`")]
    NoDay {
        /// The input.
        input: &'static str,
        /// What came.
        came: String,
    },
    /// A word that names none of the choices.
    #[error("`{input}`: expected one of {expected}, got `{came}`")]
    UnknownWord {
        /// The input.
        input: &'static str,
        /// The words that exist.
        expected: String,
        /// What came.
        came: String,
    },
    /// Thresholds that do not fit the method.
    #[error("expected {expected}, got {came}")]
    Thresholds {
        /// What the method needs.
        expected: &'static str,
        /// What came.
        came: String,
    },
}

/// Returns `value` if it is a number from `least` to `most`.
///
/// A billionth beyond either end is let in, so that an end given in one unit survives its way through another.
pub(crate) fn within(what: &'static str, value: f64, least: f64, most: f64, unit: &'static str) -> Result<f64, Error> {
    let (low, high) = (least - least.abs() * 1e-9, most + most.abs() * 1e-9);
    if (low..=high).contains(&value) {
        return Ok(value);
    }
    // What a conversion left behind the sixth decimal is not what the person wrote.
    let came = if value.abs() < 1e9 { (value * 1e6).round() / 1e6 } else { value };
    Err(Error::OutOfRange { what, least, most, unit, came })
}

#[cfg(test)]
mod tests {
    use ligule_units::Length;

    use crate::stand::row_length;

    #[test]
    fn the_message_says_what_was_expected_and_what_came() {
        let message = row_length(Length::from_inches(121.0), 0.001).unwrap_err().to_string();
        assert_eq!(message, "expected a row width from 1 to 120 in, got 121: check the number and its unit");
        assert!(row_length(Length::from_feet(10.0), 0.001).is_ok());
    }
}
