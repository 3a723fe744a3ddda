//! Row lengths, densities, the mean of counts.

use ligule_agronomy::stand;
use ligule_units::{Length, PlantDensity};

use crate::row::Answer::{self, Number};
use crate::row::{Row, as_f64};

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let row_length = || stand::row_length(row.inches("row_in"), 0.001).expect("a valid row");
    let in_row = || {
        let length = Length::from_feet(row.number("length_ft"));
        stand::plants_per_area(row.number("plants"), row.inches("row_in"), length).expect("a valid count")
    };
    let hoop = || stand::hoop_density(row.number("plants"), row.inches("diameter_in")).expect("a valid hoop");
    let at_two = "eight counts have a spread";
    Some(match row.check.as_str() {
        "row length, ft" => Number(row_length().feet()),
        "row length, in" => Number(row_length().inches()),
        "row length, m" => Number(row_length().metres()),
        "row length of hectare, m" => {
            let width = Length::from_metres(row.number("row_m"));
            Number(stand::row_length_of_hectare(width, 0.001).expect("a valid row").metres())
        }
        "per hectare" => Number(row.per_acre("per_acre").per_hectare()),
        "per acre" => Number(PlantDensity::from_per_hectare(row.number("per_hectare")).per_acre()),
        "plants per acre" => Number(in_row().per_acre()),
        "plants per hectare" => Number(in_row().per_hectare()),
        "hoop plants per acre" => Number(hoop().per_acre()),
        "hoop plants per hectare" => Number(hoop().per_hectare()),
        "counts needed" => {
            let n = stand::counts_needed(row.number("cv"), row.number("half_width"), row.number("level"));
            Number(n.expect("within reach") as f64)
        }
        "stand mean" => Number(estimate(row).mean.per_acre()),
        "stand sd" => Number(estimate(row).sd.expect(at_two).per_acre()),
        "stand cv, %" => Number(estimate(row).cv.expect(at_two) * 100.0),
        "stand half-width" => Number(estimate(row).half_width.expect(at_two).per_acre()),
        "stand low" => Number(estimate(row).interval.expect(at_two).0.per_acre()),
        "stand high" => Number(estimate(row).interval.expect(at_two).1.per_acre()),
        "seeding rate" => {
            let (germination, survival) = (row.number("germination"), row.number("survival"));
            let rate = stand::seeding_rate_for(row.per_acre("per_acre"), germination, survival);
            Number(rate.expect("valid shares").per_acre())
        }
        "plants on a share" => Number(
            stand::density_on_share(row.number("plants"), row.number("share")).expect("a valid count").per_acre(),
        ),
        "chance cv, %" => {
            Number(stand::chance_cv(row.number("seeds"), row.number("emergence")).expect("valid shares") * 100.0)
        }
        "spots mean" => Number(spots(row).mean.per_acre()),
        "spots standard error" => Number(spots(row).standard_error.per_acre()),
        "spots sd between" => Number(spots(row).sd_between.expect(at_two).per_acre()),
        "spots sd within" => Number(spots(row).sd_within.expect(at_two).per_acre()),
        "spots intraclass" => Number(spots(row).intraclass.expect(at_two)),
        "spots design effect" => Number(spots(row).design_effect.expect(at_two)),
        "spots needed" => {
            let counts = usize::try_from(row.whole("counts")).expect("a small number");
            let (between, within) = (row.number("between"), row.number("within"));
            let n = stand::locations_needed(between, within, counts, row.number("aim"), row.number("level"));
            Number(n.expect("within reach") as f64)
        }
        _ => return None,
    })
}

fn estimate(row: &Row) -> stand::StandEstimate {
    let counts: Vec<_> = row.numbers("counts").into_iter().map(PlantDensity::from_per_acre).collect();
    stand::stand_estimate(&counts, row.number("level")).expect("valid counts")
}

fn spots(row: &Row) -> stand::ClusteredStand {
    let counts = |spot: &toml::Value| -> Vec<_> {
        let counts = spot.as_array().expect("a list of counts");
        counts.iter().map(|count| PlantDensity::from_per_acre(as_f64(count))).collect()
    };
    let spots: Vec<_> = row.list("spots").iter().map(counts).collect();
    stand::clustered_stand(&spots, 0.95).expect("valid spots")
}
