//! Agronomic SQL functions: the formulas of `ligule-agronomy`.
//!
//! | function | in | out |
//! | --- | --- | --- |
//! | `plants_per_acre(plants, row_in, length_ft)` | plants, inches between rows, feet of row | plants per acre |
//! | `degree_days_86_50(tmax_c, tmin_c)` | °C | °F degree days of the day |
//! | `t_half_width(x)` | an aggregate over numbers | half width of the 95 % interval of their mean, same unit |
//!
//! Numbers outside the range in which a formula holds give null, as an observation without that number would; a
//! query over twenty seasons should not fail for one of them. An interval of fewer than two numbers is null too.

use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, AsArray, Float64Array};
use datafusion::arrow::datatypes::{DataType, Float64Type};
use datafusion::common::cast::as_float64_array;
use datafusion::error::Result;
use datafusion::logical_expr::{ColumnarValue, ScalarUDF, Volatility, create_udf};
use datafusion::prelude::SessionContext;
use ligule_agronomy::units::{Length, Temperature};
use ligule_agronomy::{degree_days, stand};

/// Adds the functions to a session.
pub(crate) fn register(context: &SessionContext) {
    context.register_udf(of_numbers("plants_per_acre", 3, |n| {
        let density = stand::plants_per_area(n[0], Length::from_inches(n[1]), Length::from_feet(n[2]));
        Some(density.ok()?.per_acre())
    }));
    context.register_udf(of_numbers("degree_days_86_50", 2, |n| {
        let day = degree_days::Model::corn().day(Temperature::from_celsius(n[0]), Temperature::from_celsius(n[1]));
        Some(day.ok()?.fahrenheit())
    }));
    context.register_udaf(crate::half_width::t_half_width());
}

/// Returns what a function of this crate takes, in words.
pub(crate) fn usage(function: &str) -> Option<&'static str> {
    Some(match function {
        "plants_per_acre" => "three numbers: plants, inches between rows, feet of row",
        "degree_days_86_50" => "two numbers: the day's greatest and least temperature in °C",
        "t_half_width" => "one column of numbers",
        _ => return None,
    })
}

/// Makes a function of numbers that is null where one of them is, or where the formula gives no answer.
fn of_numbers(name: &'static str, arguments: usize, formula: fn(&[f64]) -> Option<f64>) -> ScalarUDF {
    let body = move |values: &[ColumnarValue]| -> Result<ColumnarValue> {
        let scalar = values.iter().all(|value| matches!(value, ColumnarValue::Scalar(_)));
        let arrays = ColumnarValue::values_to_arrays(values)?;
        let columns: Vec<&Float64Array> = arrays.iter().map(|array| as_float64_array(array)).collect::<Result<_>>()?;
        let rows = columns.first().map_or(0, |column| column.len());
        let result: Float64Array = (0..rows)
            .map(|row| {
                let numbers: Option<Vec<f64>> =
                    columns.iter().map(|column| column.is_valid(row).then(|| column.value(row))).collect();
                numbers.and_then(|numbers| formula(&numbers))
            })
            .collect();
        if scalar {
            let value = datafusion::common::ScalarValue::try_from_array(&result, 0)?;
            return Ok(ColumnarValue::Scalar(value));
        }
        Ok(ColumnarValue::Array(Arc::new(result)))
    };
    create_udf(name, vec![DataType::Float64; arguments], DataType::Float64, Volatility::Immutable, Arc::new(body))
}

/// Returns the numbers of a column that are there.
pub(crate) fn present(values: &ArrayRef) -> impl Iterator<Item = f64> + '_ {
    values.as_primitive::<Float64Type>().iter().flatten()
}
