//! What can go wrong with a quantity.

use crate::unit::Dimension;

/// The error of [`parse`](crate::parse()): the crate has one enum for all.
pub type ParseError = Error;

/// Why a text is no quantity, or a quantity cannot be given in a unit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// Nothing was written.
    #[error("expected {} such as `{}`, got nothing", expected.noun(), expected.example())]
    Empty {
        /// What was asked for.
        expected: Dimension,
    },
    /// The text does not start with a number, or a part of it has none.
    #[error("expected {} such as `{}`, got `{came}`: there is no number at `{at}`", expected.noun(), expected.example())]
    NoNumber {
        /// What was asked for.
        expected: Dimension,
        /// The whole text.
        came: String,
        /// What stands where the number should be.
        at: String,
    },
    /// A comma, which means a decimal point to some and thousands to others.
    #[error("expected {} such as `{}`, got `{came}`: write a point for decimals and no mark for thousands (`5.31`, `32000`)", expected.noun(), expected.example())]
    Comma {
        /// What was asked for.
        expected: Dimension,
        /// The whole text.
        came: String,
    },
    /// A fraction over zero.
    #[error("expected a fraction such as `3/4`, got `{came}`: nothing can be divided by zero")]
    ZeroDenominator {
        /// The whole text.
        came: String,
    },
    /// More digits than any measurement has.
    #[error("expected at most 18 digits in a number, got `{came}`: write fewer")]
    TooManyDigits {
        /// The whole text.
        came: String,
    },
    /// A unit that is not in the table.
    #[error(
        "expected {} such as `{}`, got `{came}`: unknown unit `{unit}`{}; units here: {}",
        expected.noun(), expected.example(),
        nearest.as_ref().map(|n| format!(", did you mean `{n}`?")).unwrap_or_default(),
        expected.symbols()
    )]
    UnknownUnit {
        /// What was asked for.
        expected: Dimension,
        /// The whole text.
        came: String,
        /// The part of it that should be a unit.
        unit: String,
        /// The nearest unit of the table, if one is near.
        nearest: Option<String>,
    },
    /// A later part of a quantity in parts has no unit: `17 ft 5`.
    #[error("expected a unit after every part, got `{came}`: there is none after `{after}`; units here: {}", expected.symbols())]
    PartWithoutUnit {
        /// What was asked for.
        expected: Dimension,
        /// The whole text.
        came: String,
        /// The part without a unit.
        after: String,
    },
    /// Parts that do not go from large to small, or spill over: `5 in 17 ft`, `17 ft 15 in`, `20 C 3 C`.
    #[error("expected parts from large to small, each less than one of the unit before (`17 ft 5 in`), got `{came}`")]
    Parts {
        /// The whole text.
        came: String,
    },
    /// A unit of another dimension.
    #[error(
        "expected {}, got `{came}`, which is {}; units here: {}",
        expected.noun(), got.noun(), expected.symbols()
    )]
    WrongDimension {
        /// What was asked for.
        expected: Dimension,
        /// What the text or quantity is.
        got: Dimension,
        /// The text or quantity.
        came: String,
    },
    /// A result that does not fit the integer it is kept in.
    #[error("expected a number that fits 64 bits with {scale} decimals in {unit}, got `{came}`: write a smaller one")]
    Overflow {
        /// The quantity.
        came: String,
        /// The unit asked for.
        unit: &'static str,
        /// The decimals asked for.
        scale: u8,
    },
    /// A name of no system of units.
    #[error("expected `us` or `metric`, got `{came}`")]
    UnknownSystem {
        /// What came.
        came: String,
    },
}
