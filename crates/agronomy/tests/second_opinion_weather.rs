//! A second opinion on the weather: humidity and wet bulb by MetPy, degree days by a crop model (AquaCrop-OSPy) and by
//! nonlineartemppy, 10,000 random cases of each, from a printed seed that `LIGULE_SEED` sets.

use common::{Random, ask, seed};
use ligule_agronomy::degree_days::{Method, Model};
use ligule_agronomy::spraying::{relative_humidity, wet_bulb};
use ligule_units::Temperature;
use serde::Deserialize;
use serde_json::json;

mod common;

const CASES: usize = 10_000;

/// Humidity as a share: FAO-56 takes the saturation pressure by Tetens, MetPy 1.7 by Ambaum (2020); the two curves part
/// by up to half a per cent towards −20 and 50 °C.
const HUMIDITY_TOLERANCE: f64 = 0.005;
/// °C, ours less theirs, air up to 35 °C: the paper gives −1 to +0.65; MetPy's psychrometer coefficient (6.21 × 10⁻⁴
/// per K, ventilated) is less than that of the paper's theory, which lowers its wet bulb by up to another 0.15.
const PSYCHROMETRIC: (f64, f64) = (-1.0, 0.8);
/// The same above 35 °C, where the fit is poorest and the coefficient weighs most.
const PSYCHROMETRIC_HOT: (f64, f64) = (-1.0, 1.35);
/// °C: Normand's rule follows a parcel up and down. Condensed water falls out, so that it comes back cooler than air
/// that evaporates water at one pressure, by some tenths of a degree in hot air; added to the difference above.
const ADIABATIC: (f64, f64) = (-1.0, 1.9);
/// Degree days of a day in °C: nothing but rounding, ours through kelvins.
const DAY_TOLERANCE: f64 = 1e-9;
/// Degree days in °C: both terms of the difference come rounded to five decimals.
const SINE_TOLERANCE: f64 = 1.1e-5;

fn celsius(degrees: f64) -> Temperature {
    Temperature::from_celsius(degrees)
}

#[test]
fn metpy_agrees_on_humidity_and_wet_bulb() {
    #[derive(Deserialize)]
    struct Answers {
        humidity: Vec<f64>,
        wet_bulb_psychrometric: Vec<f64>,
        wet_bulb_adiabatic: Vec<f64>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let (mut air, mut humidity) = (Vec::new(), Vec::new());
    // Air too cold and dry for the equation is refused by us; the refusals are drawn again.
    while air.len() < CASES {
        let (t, share) = (random.between(-20.0, 50.0), random.between(0.05, 0.99));
        if wet_bulb(celsius(t), share).is_ok() {
            air.push(t);
            humidity.push(share);
        }
    }
    let dew: Vec<f64> = air.iter().map(|air| air - random.between(0.0, 20.0)).collect();
    let answers: Answers = ask(
        "second_opinion_weather.py",
        &json!({
            "humidity": { "air": air, "dew": dew },
            "wet_bulb_psychrometric": { "air": air, "humidity": humidity },
            "wet_bulb_adiabatic": { "air": air, "humidity": humidity },
        }),
    );
    assert_eq!(answers.humidity.len(), CASES);
    assert_eq!((answers.wet_bulb_psychrometric.len(), answers.wet_bulb_adiabatic.len()), (CASES, CASES));
    let mut met = [(0.0_f64, 0.0_f64); 4];
    let mut compare = |which: usize, case: usize, difference: f64, (least, most): (f64, f64)| {
        let inside = (least..=most).contains(&difference);
        assert!(inside, "seed {seed}, case {case}: ours less theirs is {difference}, expected {least} to {most}");
        met[which] = (met[which].0.min(difference), met[which].1.max(difference));
    };
    for i in 0..CASES {
        let share = relative_humidity(celsius(air[i]), celsius(dew[i])).expect("in range");
        compare(0, i, share - answers.humidity[i], (-HUMIDITY_TOLERANCE, HUMIDITY_TOLERANCE));
        let ours = wet_bulb(celsius(air[i]), humidity[i]).expect("in range").celsius();
        let (which, range) = if air[i] <= 35.0 { (1, PSYCHROMETRIC) } else { (2, PSYCHROMETRIC_HOT) };
        compare(which, i, ours - answers.wet_bulb_psychrometric[i], range);
        compare(3, i, ours - answers.wet_bulb_adiabatic[i], ADIABATIC);
    }
    println!("humidity, wet bulb to 35 °C, above, by Normand's rule; ours less theirs: {met:.4?}");
}

#[test]
fn a_crop_model_agrees_on_degree_days() {
    #[derive(Deserialize)]
    struct Answers {
        crop_model: Vec<Vec<f64>>,
    }
    let seed = seed();
    let mut random = Random(seed);
    let minimum: Vec<f64> = (0..CASES).map(|_| random.between(-25.0, 32.0)).collect();
    let maximum: Vec<f64> = minimum.iter().map(|low| low + random.between(0.0, 25.0)).collect();
    let base: Vec<f64> = (0..CASES).map(|_| random.between(0.0, 15.0)).collect();
    let upper: Vec<f64> = base.iter().map(|low| low + random.between(1.0, 28.0)).collect();
    let asked = json!({ "crop_model": { "maximum": maximum, "minimum": minimum, "base": base, "upper": upper } });
    let Answers { crop_model: answers } = ask("second_opinion_weather.py", &asked);
    let methods = [Method::ClippedAverage, Method::ModifiedAverage, Method::CappedMaximum, Method::SimpleAverage];
    assert_eq!(answers.len(), methods.len());
    let (mut worst, mut apart) = (0.0_f64, 0);
    for (method, theirs) in methods.into_iter().zip(&answers) {
        assert_eq!(theirs.len(), CASES);
        for i in 0..CASES {
            // The crop model caps the minimum too, which only matters in a night over the upper threshold.
            if method == Method::CappedMaximum && minimum[i] > upper[i] {
                apart += 1;
                continue;
            }
            let upper = (method != Method::SimpleAverage).then(|| celsius(upper[i]));
            let model = Model::new(method, celsius(base[i]), upper).expect("valid thresholds");
            let ours = model.day(celsius(maximum[i]), celsius(minimum[i])).expect("a valid day").celsius();
            let difference = (ours - theirs[i]).abs();
            assert!(difference <= DAY_TOLERANCE, "seed {seed}, case {i}, {method}: ours {ours}, theirs {}", theirs[i]);
            worst = worst.max(difference);
        }
    }
    assert!(apart < CASES / 2, "the capped maximum was compared on {} days only", CASES - apart);
    println!("largest difference of a day: {worst:.1e} °C; {apart} nights over the upper threshold left out");
}

#[test]
fn nonlineartemppy_agrees_on_the_sine() {
    #[derive(Deserialize)]
    struct Answers {
        sine: Vec<Vec<f64>>,
    }
    // The library takes one pair of thresholds for many days.
    const PAIRS: usize = 100;
    let seed = seed();
    let mut random = Random(seed);
    let mut runs = |low: f64, high: f64| -> Vec<Vec<f64>> {
        (0..PAIRS).map(|_| (0..CASES / PAIRS).map(|_| random.between(low, high)).collect()).collect()
    };
    let minimum = runs(-15.0, 35.0);
    let range = runs(0.1, 25.0);
    let thresholds = runs(0.0, 1.0);
    let maximum: Vec<Vec<f64>> = minimum
        .iter()
        .zip(&range)
        .map(|(lows, ranges)| lows.iter().zip(ranges).map(|(low, range)| (low + range).min(58.0)).collect())
        .collect();
    let base: Vec<f64> = thresholds.iter().map(|draws| 15.0 * draws[0]).collect();
    let upper: Vec<f64> = base.iter().zip(&thresholds).map(|(base, draws)| base + 1.0 + 27.0 * draws[1]).collect();
    let asked = json!({ "sine": { "maximum": maximum, "minimum": minimum, "base": base, "upper": upper } });
    let Answers { sine: answers } = ask("second_opinion_weather.py", &asked);
    assert_eq!(answers.iter().map(Vec::len).sum::<usize>(), CASES);
    // How many days of each of the six cases were met: none may lack.
    let mut cases = [0_usize; 6];
    let mut worst = 0.0_f64;
    for run in 0..PAIRS {
        let model = Model::new(Method::SingleSine, celsius(base[run]), Some(celsius(upper[run]))).expect("valid");
        for (day, theirs) in answers[run].iter().enumerate() {
            let (high, low) = (maximum[run][day], minimum[run][day]);
            let ours = model.day(celsius(high), celsius(low)).expect("a valid day").celsius();
            let difference = (ours - theirs).abs();
            assert!(difference <= SINE_TOLERANCE, "seed {seed}, run {run}, day {day}: ours {ours}, theirs {theirs}");
            worst = worst.max(difference);
            let case = match (low, high) {
                (low, _) if low >= upper[run] => 0,
                (_, high) if high <= base[run] => 1,
                (low, high) if low >= base[run] && high <= upper[run] => 2,
                (_, high) if high <= upper[run] => 3,
                (low, _) if low >= base[run] => 4,
                _ => 5,
            };
            cases[case] += 1;
        }
    }
    assert!(cases.iter().all(|days| *days > 0), "not every case was met: {cases:?}");
    println!("largest difference of a day: {worst:.1e} °C; days of the six cases: {cases:?}");
}
