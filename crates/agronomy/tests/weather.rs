//! Laws of degree days and of spraying weather, and that nothing whatever makes them panic.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use ligule_agronomy::Error;
use ligule_agronomy::degree_days::{
    Course, INSECT_FORMS, Method, Model, StageForecast, StationDay, black_layer_needs, days_after_1_may,
    delayed_planting_maturity, delayed_planting_silk, forecast_stage, silk_needs,
};
use ligule_agronomy::spraying::{
    InversionRisk, Moment, Sky, TEMPERATURE_LIMITS, WIND_LIMITS, delta_t, delta_t_class, inversion_signs,
    relative_humidity, saturation_vapour_pressure, signs, wet_bulb,
};
use ligule_units::{DegreeDays, Temperature, TemperatureDifference};
use proptest::prelude::*;

/// Every `f64`, with the ones that break things more often than chance would bring them.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => prop::num::f64::ANY,
        2 => prop::sample::select(vec![0.0, -0.0, 1e9, -1e9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE]),
        4 => -200.0..200.0_f64,
        3 => 0.0..1.0_f64,
    ]
}

fn sine(base: f64, upper: Option<f64>) -> Model {
    let upper = upper.map(Temperature::from_fahrenheit);
    Model::new(Method::SingleSine, Temperature::from_fahrenheit(base), upper).expect("valid thresholds")
}

fn on(model: &Model, maximum: f64, minimum: f64) -> f64 {
    let (maximum, minimum) = (Temperature::from_fahrenheit(maximum), Temperature::from_fahrenheit(minimum));
    model.day(maximum, minimum).expect("a valid day").fahrenheit()
}

fn steady(date: Date, degree_days: f64) -> StationDay {
    let both = Some(Temperature::from_fahrenheit(50.0 + degree_days));
    StationDay { date, maximum: both, minimum: both }
}

fn simple() -> Model {
    Model::new(Method::SimpleAverage, Temperature::from_fahrenheit(50.0), None).expect("valid thresholds")
}

/// Years of one pace each, from 2010 on, to the end of the last.
fn years_of(paces: &[f64]) -> Course {
    let end = date(2009 + i16::try_from(paces.len()).expect("few"), 12, 31);
    let days = date(2010, 1, 1).series(1.day()).take_while(|day| *day <= end);
    let days = days.map(|day| steady(day, paces[usize::from(day.year().unsigned_abs()) - 2010]));
    Course::new(days, date(2010, 1, 1), end, &simple()).expect("valid days")
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn a_sine_lies_between_nothing_and_the_thresholds(
        // One degree more must still be a day that is accepted: at most 140 °F.
        low in -40.0..99.0_f64, range in 0.0..40.0_f64, base in 32.0..60.0_f64, width in 1.0..50.0_f64,
    ) {
        let (high, upper) = (low + range, base + width);
        let cut = on(&sine(base, Some(upper)), high, low);
        let open = on(&sine(base, None), high, low);
        prop_assert!((0.0..=width + 1e-9).contains(&cut) && cut <= open + 1e-9);
        // The curve is above the mean's excess and below the maximum's.
        prop_assert!(open + 1e-9 >= f64::midpoint(high, low) - base && open <= (high - base).max(0.0) + 1e-9);
        // Warmer days never give fewer.
        prop_assert!(on(&sine(base, Some(upper)), high + 1.0, low) + 1e-9 >= cut);
        prop_assert!(on(&sine(base, Some(upper)), high + 1.0, low + 1.0) + 1e-9 >= cut);
    }

    #[test]
    fn no_method_gives_less_than_nothing(
        method in prop::sample::select(Method::ALL.to_vec()), a in wild(), b in wild(), c in wild(), d in wild(),
    ) {
        let upper = if a.is_finite() { Some(Temperature::from_fahrenheit(b)) } else { None };
        if let Ok(model) = Model::new(method, Temperature::from_fahrenheit(a), upper)
            && let Ok(day) = model.day(Temperature::from_fahrenheit(c), Temperature::from_fahrenheit(d))
        {
            prop_assert!(day.fahrenheit().is_finite() && day.fahrenheit() >= 0.0);
        }
    }

    #[test]
    fn every_day_is_summed_or_told_as_a_gap(there in prop::collection::vec(any::<bool>(), 1..60)) {
        let start = date(2026, 4, 20);
        let days = there.iter().zip(start.series(1.day())).filter(|(there, _)| **there);
        let days = days.map(|(_, day)| steady(day, 7.0));
        let end = start.saturating_add((there.len() as i64 - 1).days());
        let course = Course::new(days, start, end, &simple()).expect("valid days");
        let sum = course.accumulation();
        prop_assert_eq!(sum.days + sum.missing, there.len());
        prop_assert_eq!(course.gaps().len(), sum.missing);
        prop_assert!(course.gaps().iter().all(|day| course.on(*day).is_none() && *day >= start && *day <= end));
        prop_assert!((sum.sum.fahrenheit() - 7.0 * sum.days as f64).abs() < 1e-9);
        prop_assert_eq!(course.end(), end);
    }

    #[test]
    fn dates_of_a_stage_are_ordered(paces in prop::collection::vec(5.0..30.0_f64, 5..16), target in 250.0..900.0_f64) {
        let past = years_of(&paces);
        let start = date(2026, 6, 1);
        let days = start.series(1.day()).take(10).map(|day| steady(day, 20.0));
        let season = Course::new(days, start, date(2026, 6, 10), &simple()).expect("valid");
        let found = forecast_stage(&season, &past, DegreeDays::from_fahrenheit(target)).expect("enough years");
        let StageForecast::Ahead(ahead) = found else {
            return Err(TestCaseError::fail("200 degree days reach no target of 250"));
        };
        prop_assert_eq!(ahead.years.len(), paces.len());
        // Each year by hand: so many whole days at its pace; where that is a whole number but for a millionth, the
        // rounding of the sum decides between two days.
        for (year, pace) in ahead.years.iter().zip(&paces) {
            let reached = |slack: f64| {
                let days = ((target - 200.0) / pace + slack).ceil() as i64;
                Some(date(2026, 6, 10).saturating_add(days.days()))
            };
            prop_assert!([reached(-1e-6), reached(1e-6)].contains(&year.reached), "{:?} at {pace}", year.reached);
        }
        let quantile = |tenth| ahead.quantile(f64::from(tenth) / 10.0).expect("a share");
        let quantiles: Vec<_> = (0..=10).map(quantile).collect();
        prop_assert!(quantiles.windows(2).all(|pair| pair[0] <= pair[1]));
        let normal = ahead.by_normals.expect("reached");
        prop_assert!(quantiles[0] <= Some(normal) && Some(normal) <= quantiles[10]);
    }

    #[test]
    fn maturity_tables_rise_between_knots(maturity in 80.0..119.0_f64, late in 0..45_u32) {
        let first = |maturity| black_layer_needs(maturity).expect("in the table")[0].low;
        prop_assert!(first(maturity + 0.5).fahrenheit() > first(maturity).fahrenheit());
        let needs = black_layer_needs(maturity).expect("in the table");
        prop_assert!(needs.iter().all(|need| need.low.fahrenheit() <= need.high.fahrenheit()));
        let delayed = |days| delayed_planting_maturity(first(maturity), days).expect("valid").fahrenheit();
        prop_assert!(delayed(late + 1) < delayed(late) || late == 45);
    }

    #[test]
    fn any_number_at_all_in_spraying_weather(a in wild(), b in wild(), c in wild(), yes in any::<Option<bool>>()) {
        let (t, u) = (Temperature::from_celsius(a), Temperature::from_fahrenheit(b));
        prop_assert!(saturation_vapour_pressure(t).map_or(true, |p| p.is_finite() && p > 0.0));
        prop_assert!(relative_humidity(t, u).map_or(true, |share| (0.0..=1.0).contains(&share)));
        prop_assert!(wet_bulb(t, c).map_or(true, |wet| wet.celsius().is_finite()));
        let good = |difference: TemperatureDifference| difference.celsius() >= 0.0 && delta_t_class(difference).is_ok();
        prop_assert!(delta_t(t, c).map_or(true, good));
        let _ = delta_t_class(TemperatureDifference::from_celsius(a));
        for limit in &WIND_LIMITS {
            let _ = limit.place(a);
        }
        for limit in &TEMPERATURE_LIMITS {
            let _ = limit.is_passed(u);
        }
        let warmer_above = Some(TemperatureDifference::from_celsius(c));
        let minutes_to_sunset = Some(b);
        let sky = Sky {
            clear: yes, wind: Some(a), minutes_to_sunset, minutes_since_sunrise: None, smoke_hangs: yes, warmer_above,
        };
        let _ = inversion_signs(&sky);
        if let Ok(found) = signs(&Moment { air: Some(t), humidity: Some(c), night: Some(u), sky }) {
            prop_assert!(found.windows(2).all(|pair| pair[0].severity >= pair[1].severity));
        }
        let _ = (black_layer_needs(a), silk_needs(a), delayed_planting_silk(DegreeDays::from_fahrenheit(a), 3));
    }

    #[test]
    fn more_humid_air_has_a_warmer_wet_bulb(air in 5.0..45.0_f64, humidity in 0.06..0.97_f64) {
        let wet = |humidity| wet_bulb(Temperature::from_celsius(air), humidity).expect("in range").celsius();
        prop_assert!(wet(humidity + 0.01) > wet(humidity));
    }

    #[test]
    fn another_sign_never_makes_an_inversion_less_likely(
        wind in 0.0..10.0_f64, to_sunset in -60.0..600.0_f64, clear in any::<bool>(),
    ) {
        let sky = Sky { clear: Some(clear), wind: Some(wind), minutes_to_sunset: Some(to_sunset), ..Sky::default() };
        let rank = |sky: &Sky| match inversion_signs(sky).expect("in range") {
            InversionRisk::Expected(_) => 2,
            InversionRisk::Possible(_) => 1,
            InversionRisk::Unknown | InversionRisk::NoSignSeen => 0,
        };
        let (smoke, clearer, calmer) = (
            Sky { smoke_hangs: Some(true), ..sky },
            Sky { clear: Some(true), ..sky },
            Sky { wind: Some(wind / 4.0), ..sky },
        );
        prop_assert_eq!(rank(&smoke), 2);
        prop_assert!(rank(&clearer) >= rank(&sky));
        prop_assert!(rank(&calmer) >= rank(&sky));
    }
}

#[test]
fn a_day_given_twice_and_an_end_before_the_start_are_told() {
    let (start, end) = (date(2026, 5, 1), date(2026, 5, 9));
    let twice = Course::new([steady(start, 5.0), steady(start, 6.0)], start, end, &simple());
    assert_eq!(twice, Err(Error::DayTwice { day: start }));
    assert!(matches!(Course::new([], end, start, &simple()), Err(Error::OutOfRange { .. })));
}

#[test]
fn no_date_is_foretold_from_too_little() {
    let start = date(2026, 6, 1);
    let target = DegreeDays::from_fahrenheit(900.0);
    let season = |gaps: usize| {
        let days = start.series(1.day()).take(20).skip(gaps).map(|day| steady(day, 20.0));
        Course::new(days, start, date(2026, 6, 20), &simple()).expect("valid")
    };
    let past = years_of(&[20.0; 6]);
    assert!(forecast_stage(&season(1), &past, target).is_ok(), "one day of 20 may lack");
    assert!(matches!(forecast_stage(&season(2), &past, target), Err(Error::OutOfRange { .. })), "two of 20 may not");
    let few = forecast_stage(&season(0), &years_of(&[20.0; 4]), target);
    assert!(matches!(few, Err(Error::TooFew { came: 4, .. })));
    let other = Course::new([], start, start, &Model::corn()).expect("a course of one gap");
    assert!(matches!(forecast_stage(&season(0), &other, target), Err(Error::Thresholds { .. })));
}

#[test]
fn a_past_year_full_of_gaps_is_left_out_and_told() {
    let start = date(2026, 6, 1);
    let season =
        Course::new(start.series(1.day()).take(10).map(|d| steady(d, 20.0)), start, date(2026, 6, 10), &simple());
    let days = date(2015, 1, 1).series(1.day()).take_while(|day| *day <= date(2020, 12, 31));
    // 2017 has no June; 2019 lacks one day of the twenty on the way.
    let days = days.filter(|day| (day.year(), day.month()) != (2017, 6) && *day != date(2019, 6, 15));
    let past = Course::new(days.map(|day| steady(day, 20.0)), date(2015, 1, 1), date(2020, 12, 31), &simple());
    let target = DegreeDays::from_fahrenheit(600.0);
    let found = forecast_stage(&season.expect("valid"), &past.expect("valid"), target).expect("five years");
    let StageForecast::Ahead(ahead) = found else { panic!("200 do not reach 600") };
    assert_eq!(ahead.left_out, [2017]);
    assert_eq!(ahead.years.iter().map(|year| year.filled).collect::<Vec<_>>(), [0, 0, 0, 1, 0]);
    assert!(ahead.years.iter().all(|year| year.reached == Some(date(2026, 6, 30))));
}

#[test]
fn cold_years_that_never_reach_a_stage_count_in_the_quantiles() {
    let start = date(2026, 6, 1);
    let season =
        Course::new(start.series(1.day()).take(10).map(|d| steady(d, 20.0)), start, date(2026, 6, 10), &simple());
    let past = years_of(&[20.0, 20.0, 20.0, 0.0, 0.0]);
    let found = forecast_stage(&season.expect("valid"), &past, DegreeDays::from_fahrenheit(600.0)).expect("five years");
    let StageForecast::Ahead(ahead) = found else { panic!("200 do not reach 600") };
    assert_eq!((ahead.years.len(), ahead.years_reaching()), (5, 3));
    assert_eq!(ahead.quantile(0.6).expect("a share"), Some(date(2026, 6, 30)));
    assert_eq!(ahead.quantile(0.7).expect("a share"), None);
}

#[test]
fn outside_the_tables_nothing_is_extrapolated() {
    for maturity in [79.9, 120.1] {
        assert!(matches!(black_layer_needs(maturity), Err(Error::OutsideTable { .. })));
    }
    assert!(matches!(silk_needs(90.0), Err(Error::OutsideTable { .. })));
    assert!(matches!(wet_bulb(Temperature::from_celsius(-10.0), 0.2), Err(Error::OutsideTable { .. })));
    assert!(matches!(wet_bulb(Temperature::from_celsius(20.0), 0.04), Err(Error::OutOfRange { .. })));
    assert!(delayed_planting_silk(DegreeDays::from_fahrenheit(1300.0), 46).is_err());
    assert_eq!(days_after_1_may(date(2024, 3, 1)), 0);
    assert!(INSECT_FORMS.iter().all(|form| form.model().is_ok()));
}
