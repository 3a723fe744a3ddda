//! The aggregate `t_half_width`.

use std::sync::Arc;

use datafusion::arrow::array::ArrayRef;
use datafusion::arrow::datatypes::{DataType, Field};
use datafusion::common::ScalarValue;
use datafusion::error::Result;
use datafusion::logical_expr::{Accumulator, AggregateUDF, Volatility, create_udaf};
use ligule_agronomy::statistics::{self, USUAL_LEVEL};

use crate::functions::present;

/// Returns the aggregate: half the width of the 95 % interval of a mean, by Student's t.
pub(crate) fn t_half_width() -> AggregateUDF {
    let list = DataType::List(Arc::new(Field::new_list_field(DataType::Float64, true)));
    create_udaf(
        "t_half_width",
        vec![DataType::Float64],
        Arc::new(DataType::Float64),
        Volatility::Immutable,
        Arc::new(|_| Ok(Box::new(HalfWidth::default()))),
        Arc::new(vec![list]),
    )
}

/// Keeps the numbers themselves, so that the formula is the one that the rest of the program uses.
#[derive(Debug, Default)]
struct HalfWidth {
    values: Vec<f64>,
}

impl Accumulator for HalfWidth {
    fn update_batch(&mut self, values: &[ArrayRef]) -> Result<()> {
        self.values.extend(present(&values[0]));
        Ok(())
    }

    fn evaluate(&mut self) -> Result<ScalarValue> {
        // The order in which partitions arrive is left to chance; sorted, the sum is the same every time.
        self.values.sort_by(f64::total_cmp);
        Ok(ScalarValue::Float64(statistics::t_half_width(&self.values, USUAL_LEVEL).ok()))
    }

    fn size(&self) -> usize {
        size_of_val(self) + self.values.capacity() * size_of::<f64>()
    }

    fn state(&mut self) -> Result<Vec<ScalarValue>> {
        let values: Vec<ScalarValue> = self.values.iter().map(|value| ScalarValue::Float64(Some(*value))).collect();
        Ok(vec![ScalarValue::List(ScalarValue::new_list_nullable(&values, &DataType::Float64))])
    }

    fn merge_batch(&mut self, states: &[ArrayRef]) -> Result<()> {
        for list in datafusion::common::cast::as_list_array(&states[0])?.iter().flatten() {
            self.values.extend(present(&list));
        }
        Ok(())
    }
}
