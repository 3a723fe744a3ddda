//! Harvest.

use ligule_agronomy::harvest::{
    Grain, component_yield, dried_weight, kernel_factor, kilograms_per_hectare, pencil_shrink, plot_yield,
    shrink_a_point, standard_bushels, test_weight_metric, water_shrink,
};
use ligule_units::Area;

use crate::row::Answer::{self, Number};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let grain = || row.text("grain").parse::<Grain>().expect("a grain");
    let share = |name: &str| row.number(name) / 100.0;
    Some(match row.check.as_str() {
        "component yield, bu" => {
            let [ears, rows, kernels, factor] = ["ears", "rows", "kernels", "factor"].map(|name| row.number(name));
            Number(component_yield(ears, rows, kernels, factor).expect("valid counts"))
        }
        "kernel factor" => Number(kernel_factor(row.number("grams")).expect("a valid weight")),
        "water shrink, %" => Number(water_shrink(share("from"), share("to")).expect("valid moistures") * 100.0),
        "shrink a point" => Number(shrink_a_point(share("to")).expect("a valid moisture")),
        "flat shrink, %" => {
            let taken = pencil_shrink(share("from"), share("to"), row.number("factor"));
            Number(taken.expect("valid moistures") * 100.0)
        }
        "dried weight" => {
            let dried = dried_weight(row.number("weight"), share("from"), share("to"), share("handling"));
            Number(dried.expect("valid moistures"))
        }
        "standard bushels" => {
            let bushels = standard_bushels(grain(), row.number("weight"), share("moisture"), share("handling"));
            Number(bushels.expect("valid moistures"))
        }
        // How much wet grain holds the dry matter of a standard bushel.
        "wet pounds of a bushel" => Number(
            grain().bushel() / (1.0 - water_shrink(share("moisture"), grain().standard_moisture()).expect("valid")),
        ),
        "dry matter of a bushel, lb" => Number(grain().bushel() * (1.0 - grain().standard_moisture())),
        "plot yield, bu" => {
            let area = Area::from_acres(row.number("acres"));
            Number(plot_yield(grain(), row.number("weight"), share("moisture"), area).expect("a valid plot"))
        }
        "yield, kg/ha" => Number(kilograms_per_hectare(grain(), row.number("bushels")).expect("a valid yield")),
        "test weight, kg/hL" => Number(test_weight_metric(row.number("pounds")).expect("a valid weight")),
        _ => return None,
    })
}
