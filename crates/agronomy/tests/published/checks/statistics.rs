//! Intervals, tests and regression.

use ligule_agronomy::statistics::{self, Anova, Estimate, Regression, WeightedMean, WelchTest};

use crate::row::Answer::{self, Number};
use crate::row::{Row, as_f64};

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let wilson = || statistics::wilson_interval(row.whole("found"), row.whole("trials"), 0.95).expect("valid counts");
    Some(match row.check.as_str() {
        "t" => {
            let freedom = usize::try_from(row.whole("df")).expect("fits");
            Number(statistics::t_two_sided(row.number("level"), freedom).expect("a valid level"))
        }
        "F tail" => {
            Number(statistics::f_p_value(row.number("f"), row.number("above"), row.number("below")).expect("a valid F"))
        }
        "wilson low, %" => Number(wilson().0 * 100.0),
        "wilson high, %" => Number(wilson().1 * 100.0),
        "share error, %" => {
            let error = statistics::share_standard_error(row.whole("found"), row.whole("trials"));
            Number(error.expect("valid counts") * 100.0)
        }
        "weighted mean" => Number(weighted(row).mean.value),
        "weighted error" => Number(weighted(row).mean.standard_error),
        "tally mean" => Number(tally(row).mean.value),
        "tally half-width" => {
            let Estimate { value, interval, .. } = tally(row).mean;
            Number(interval.1 - value)
        }
        "line slope" => Number(line(row).slope.value),
        "line slope error" => Number(line(row).slope.standard_error),
        "line slope low" => Number(line(row).slope.interval.0),
        "line slope high" => Number(line(row).slope.interval.1),
        "line intercept" => Number(line(row).intercept.value),
        "line intercept error" => Number(line(row).intercept.standard_error),
        "line intercept low" => Number(line(row).intercept.interval.0),
        "line intercept high" => Number(line(row).intercept.interval.1),
        "line residual sd" => Number(line(row).residual_sd),
        "line r squared" => Number(line(row).r_squared.expect("y that differ")),
        "line mean" => Number(mean_at(row).value),
        "line mean low" => Number(mean_at(row).interval.0),
        "line mean high" => Number(mean_at(row).interval.1),
        "line new low" => Number(new_at(row).interval.0),
        "line new high" => Number(new_at(row).interval.1),
        "welch t" => Number(welch(row).t),
        "welch df" => Number(welch(row).degrees_of_freedom),
        "welch p" => Number(welch(row).p),
        "welch low" => Number(welch(row).difference.interval.0),
        "welch high" => Number(welch(row).difference.interval.1),
        "anova between" => Number(groups(row).between),
        "anova within" => Number(groups(row).within),
        "anova F" => Number(groups(row).f),
        "anova p" => Number(groups(row).p),
        "anova pooled sd" => Number(groups(row).pooled_sd),
        "pair p" => Number(pair_p(row)),
        _ => return None,
    })
}

fn weighted(row: &Row) -> WeightedMean {
    statistics::weighted_mean(&row.numbers("values"), &row.numbers("weights"), 0.95).expect("valid spots")
}

fn tally(row: &Row) -> WeightedMean {
    let times: Vec<u64> = row.numbers("times").iter().map(|n| *n as u64).collect();
    statistics::grouped_mean(&row.numbers("values"), &times, 0.95).expect("a valid tally")
}

fn line(row: &Row) -> Regression {
    statistics::regression(&row.numbers("x"), &row.numbers("y"), 0.95).expect("valid points")
}

fn mean_at(row: &Row) -> Estimate {
    line(row).mean_response(row.number("at")).expect("within the x measured")
}

fn new_at(row: &Row) -> Estimate {
    line(row).prediction(row.number("at")).expect("within the x measured")
}

fn welch(row: &Row) -> WelchTest {
    statistics::welch_test(&row.numbers("first"), &row.numbers("second"), row.number("level")).expect("valid samples")
}

fn groups(row: &Row) -> Anova {
    let numbers = |list: &toml::Value| list.as_array().expect("a list for each group").iter().map(as_f64).collect();
    let groups: Vec<Vec<f64>> = row.list("groups").iter().map(numbers).collect();
    statistics::anova(&groups).expect("valid groups")
}

fn pair_p(row: &Row) -> f64 {
    let place = |name| usize::try_from(row.whole(name)).expect("fits");
    let pairs = groups(row).pairs(0.95).expect("a valid level");
    let found = pairs.iter().find(|pair| pair.places == (place("first"), place("second")));
    found.expect("a pair of the groups").compared.p
}
