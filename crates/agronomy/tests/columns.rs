//! Columns sum to what their days sum to, whatever is in them.

use ligule_agronomy::degree_days::{Method, Model, accumulate, accumulate_columns};
use ligule_units::Temperature;
use proptest::prelude::*;

fn model() -> impl Strategy<Value = Model> {
    let methods = vec![
        Method::ModifiedAverage,
        Method::SimpleAverage,
        Method::ClippedAverage,
        Method::CappedMaximum,
        Method::SingleSine,
    ];
    (prop::sample::select(methods), 32.0..60.0_f64, 1.0..50.0_f64).prop_map(|(method, base, above)| {
        let upper = (method != Method::SimpleAverage).then(|| Temperature::from_fahrenheit(base + above));
        Model::new(method, Temperature::from_fahrenheit(base), upper).expect("thresholds in order")
    })
}

fn ordinary() -> impl Strategy<Value = (f64, f64)> {
    let day = (-40.0..100.0_f64, 0.0..40.0_f64).prop_map(|(low, range)| (low + range, low));
    prop_oneof![8 => day, 1 => Just((f64::NAN, 50.0)), 1 => Just((70.0, f64::NAN))]
}

fn wild() -> impl Strategy<Value = (f64, f64)> {
    prop_oneof![6 => ordinary(), 1 => (any::<f64>(), any::<f64>())]
}

fn one_by_one(days: &[(f64, f64)], model: &Model) -> Result<(f64, usize, usize), ligule_agronomy::Error> {
    let given = |degrees: f64| (!degrees.is_nan()).then(|| Temperature::from_fahrenheit(degrees));
    let season = accumulate(days.iter().map(|(high, low)| (given(*high), given(*low))), model)?;
    Ok((season.sum.fahrenheit(), season.days, season.missing))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn a_column_sums_to_what_its_days_sum_to(days in prop::collection::vec(ordinary(), 0..60), model in model()) {
        let (maximum, minimum): (Vec<_>, Vec<_>) = days.iter().copied().unzip();
        let ours = accumulate_columns(&maximum, &minimum, &model)?;
        let (sum, counted, missing) = one_by_one(&days, &model)?;
        prop_assert!((ours.sum.fahrenheit() - sum).abs() <= 1e-9 * sum.max(1.0), "{} and {sum}", ours.sum.fahrenheit());
        prop_assert_eq!((ours.days, ours.missing), (counted, missing));
    }

    #[test]
    fn what_one_refuses_the_other_refuses(days in prop::collection::vec(wild(), 0..20), model in model()) {
        let (maximum, minimum): (Vec<_>, Vec<_>) = days.iter().copied().unzip();
        let ours = accumulate_columns(&maximum, &minimum, &model);
        prop_assert_eq!(ours.map(|season| season.days).map_err(|e| e.to_string()),
            one_by_one(&days, &model).map(|season| season.1).map_err(|e| e.to_string()));
    }

    #[test]
    fn columns_of_unequal_length_are_refused(a in 0_usize..20, b in 0_usize..20) {
        let answer = accumulate_columns(&vec![70.0; a], &vec![50.0; b], &Model::corn());
        prop_assert_eq!(answer.is_ok(), a == b);
    }
}
