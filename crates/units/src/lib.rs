//! Quantities as people write them, and as formulas need them.
//!
//! Two halves, for two needs:
//!
//! - **What was entered** is a [`Quantity`]: an exact rational number and a [`Unit`] of the table in
//!   [`Unit::all`]. [`parse`] reads `30 in`, `17'5"`, `1 3/4 in` or `76cm`; [`Quantity::to_fixed`] gives the
//!   integer that a record keeps; [`format_fixed`] shows that integer in the units that people of a
//!   [`System`] read. Nothing is rounded before [`Quantity::to_fixed`].
//! - **What formulas reckon with** are distinct types over `f64`: [`Length`], [`Area`], [`PlantDensity`],
//!   [`Temperature`], [`TemperatureDifference`], [`DegreeDays`]. Mixing them does not compile.
//!
//! The distinct types are stored in `uom` quantities, whose dimensional arithmetic decides at compile time which
//! products and quotients exist. `uom` is not used for parsing: its factors are floating point, and its acre is
//! rounded to seven digits. An acre is 43,560 square feet here, exactly.
//!
//! ```
//! use ligule_units::{parse, Length, System, Unit, format_fixed};
//!
//! let inch = Unit::by_ucum("[in_i]").expect("in the table");
//! let row = parse("76.2 cm", inch)?;
//! assert_eq!(row.to_fixed(inch, 2)?, 3000);
//! assert_eq!(format_fixed(3000, inch, 2, System::Metric), "76.2 cm");
//! assert!((Length::try_from(&row)?.inches() - 30.0).abs() < 1e-12);
//! # Ok::<(), ligule_units::Error>(())
//! ```

mod error;
mod format;
mod parse;
mod quantity;
mod rational;
mod typed;
mod unit;

pub use error::{Error, ParseError};
pub use format::{System, format_fixed, format_fixed_in};
pub use parse::parse;
pub use quantity::Quantity;
pub use rational::Rational;
pub use typed::{Area, DegreeDays, Length, PlantDensity, Temperature, TemperatureDifference};
pub use unit::{Dimension, Unit};
