//! How fast a field is assessed, and how fast whole columns of days are summed beside NumPy in the same run.
//!
//! `cargo bench -p ligule-agronomy`. The target for one field is 20 µs on one core. With `LIGULE_PYTHON` naming a Python
//! that has NumPy, the same sums run there too, from the same days, and the ratio is printed. Nothing is asserted about
//! time; that both sides get the same sum is.

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use ligule_agronomy::degree_days::{LeafRate, Method, Model, accumulate, accumulate_columns, predict_leaf_stage};
use ligule_agronomy::depth::{depth_summary, depth_warnings};
use ligule_agronomy::evenness::{LateTable, emergence_evenness, late_loss};
use ligule_agronomy::spacing::{plant_spacing, spacing_losses, spacing_summary};
use ligule_agronomy::stage::field_stage;
use ligule_agronomy::stand::{counts_needed, share_of_seeding_rate, stand_estimate};
use ligule_units::{DegreeDays, Length, PlantDensity, Temperature};

const DAYS: usize = 1_000_000;
/// How often the columns are summed on either side; the median counts.
const REPEATS: usize = 15;

/// Returns a day's maximum and minimum in °F: whole hundredths that Python makes alike, some cold, some hot, none missing.
fn day(i: usize) -> (f64, f64) {
    let maximum = 30.0 + (i * 7919 % 7000) as f64 / 100.0;
    (maximum, maximum - (i * 104_729 % 3500) as f64 / 100.0)
}

/// What an agronomist brings home from one field.
struct Field {
    counts: Vec<PlantDensity>,
    collars: Vec<u8>,
    gaps: Vec<Length>,
    depths: Vec<Length>,
    season: Vec<(Option<Temperature>, Option<Temperature>)>,
}

impl Field {
    fn usual() -> Self {
        let thousands = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0, 30.0, 28.0, 31.0, 25.0];
        Self {
            counts: thousands.iter().map(|n| PlantDensity::from_per_acre(n * 1000.0)).collect(),
            collars: (0_u8..60).map(|plant| 3 + plant % 5 / 2).collect(),
            gaps: (0..40).map(|gap| Length::from_inches(2.0 + f64::from(gap * 7 % 11))).collect(),
            depths: [1.0, 1.75, 2.0, 2.25, 1.5, 2.0, 1.25, 1.75].map(Length::from_inches).to_vec(),
            season: (0..150)
                .map(|i| {
                    let (maximum, minimum) = day(i);
                    (Some(Temperature::from_fahrenheit(maximum)), Some(Temperature::from_fahrenheit(minimum)))
                })
                .collect(),
        }
    }

    /// Works out all that a visit report shows of stand, stage, evenness, spacing, depth and degree days.
    fn assess(&self) -> Result<[f64; 12], ligule_agronomy::Error> {
        let seeds = PlantDensity::from_per_acre(32_000.0);
        let stand = stand_estimate(&self.counts, 0.95)?;
        let more = counts_needed(stand.cv.unwrap_or(0.0), 0.05, 0.95)?;
        let kept = share_of_seeding_rate(stand.mean, seeds)?;
        let stage = field_stage(&self.collars)?;
        let collars: Vec<f64> = self.collars.iter().copied().map(f64::from).collect();
        let evenness = emergence_evenness(&collars)?;
        let late = late_loss(LateTable::Smoothed, evenness.two_leaves, 12.0)?;
        let nominal = plant_spacing(Length::from_inches(30.0), seeds)?;
        let spacing = spacing_summary(&self.gaps, nominal)?;
        let losses = spacing_losses(spacing.sd.unwrap_or(nominal), 200.0);
        let set = Length::from_inches(2.0);
        let depth = depth_summary(&self.depths, set)?;
        let warnings = depth_warnings(&depth, set)?;
        let season = accumulate(self.season.iter().copied(), &Model::corn())?;
        let leaf = predict_leaf_stage(season.sum, DegreeDays::from_fahrenheit(120.0), LeafRate::Purdue, 20)?;
        black_box((stage, leaf, losses, warnings));
        Ok([
            stand.mean.per_acre(),
            more as f64,
            kept,
            evenness.two_leaves_interval.1,
            late,
            spacing.mean.inches(),
            spacing.multiples,
            spacing.misses,
            depth.mean.inches(),
            depth.share_off_quarter_inch,
            season.sum.fahrenheit(),
            season.missing_share(),
        ])
    }
}

fn field(criterion: &mut Criterion) {
    let field = Field::usual();
    field.assess().expect("a usual field can be assessed");
    criterion.bench_function("a whole field assessment", |bencher| {
        bencher.iter(|| black_box(&field).assess());
    });
}

/// Two columns of °F, as a weather file holds them.
struct Columns {
    maximum: Vec<f64>,
    minimum: Vec<f64>,
}

impl Columns {
    fn new() -> Self {
        let (maximum, minimum) = (0..DAYS).map(day).unzip();
        Self { maximum, minimum }
    }

    fn sum(&self, model: &Model) -> f64 {
        accumulate_columns(&self.maximum, &self.minimum, model).expect("valid days").sum.fahrenheit()
    }

    /// Sums the same days as a season is summed, day by day.
    fn sum_by_day(&self, model: &Model) -> f64 {
        let days =
            self.maximum.iter().zip(&self.minimum).map(|(high, low)| {
                (Some(Temperature::from_fahrenheit(*high)), Some(Temperature::from_fahrenheit(*low)))
            });
        accumulate(days, model).expect("valid days").sum.fahrenheit()
    }
}

/// Returns every method that NumPy works too, with the thresholds of corn.
fn models() -> Vec<(&'static str, Model)> {
    let (base, upper) = (Temperature::from_fahrenheit(50.0), Temperature::from_fahrenheit(86.0));
    [
        ("modified-average", Method::ModifiedAverage, Some(upper)),
        ("simple-average", Method::SimpleAverage, None),
        ("clipped-average", Method::ClippedAverage, Some(upper)),
        ("capped-maximum", Method::CappedMaximum, Some(upper)),
        ("single-sine", Method::SingleSine, Some(upper)),
    ]
    .into_iter()
    .map(|(name, method, upper)| (name, Model::new(method, base, upper).expect("the thresholds of corn")))
    .collect()
}

fn columns(criterion: &mut Criterion) {
    let columns = Columns::new();
    let mut group = criterion.benchmark_group("degree days of 1,000,000 days");
    group.sample_size(20);
    for (name, model) in models() {
        group.bench_function(name, |bencher| bencher.iter(|| black_box(&columns).sum(&model)));
        let by_day = format!("{name}, day by day");
        group.bench_function(by_day, |bencher| bencher.iter(|| black_box(&columns).sum_by_day(&model)));
    }
    group.finish();
}

fn beside_numpy(_: &mut Criterion) {
    let Some(python) = std::env::var_os("LIGULE_PYTHON") else {
        println!("\nNOT MEASURED: degree-day sums beside NumPy. LIGULE_PYTHON is not set: name a Python with NumPy.\n");
        return;
    };
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/degree_days.py");
    let arguments = [DAYS.to_string(), REPEATS.to_string()];
    let output = Command::new(&python).arg(script).args(arguments).output().expect("LIGULE_PYTHON runs");
    assert!(output.status.success(), "Python failed: {}", String::from_utf8_lossy(&output.stderr));
    let told = String::from_utf8(output.stdout).expect("text");
    let columns = Columns::new();
    println!("\nsums over {DAYS} days, one core, median of {REPEATS}, ours beside NumPy:");
    for (name, model) in models() {
        let mut sum = 0.0;
        let mut times: Vec<Duration> = (0..REPEATS)
            .map(|_| {
                let start = Instant::now();
                sum = black_box(black_box(&columns).sum(&model));
                start.elapsed()
            })
            .collect();
        times.sort_unstable();
        let ours = times[REPEATS / 2].as_secs_f64() * 1000.0;
        let line = told.lines().find(|line| line.starts_with(name)).expect("Python works every method");
        let numbers: Vec<f64> = line.split_whitespace().skip(1).map(|n| n.parse().expect("a number")).collect();
        let (theirs, their_sum) = (numbers[0] * 1000.0, numbers[1]);
        assert!((sum - their_sum).abs() <= 1e-9 * their_sum, "{name}: ours {sum}, NumPy {their_sum}");
        println!("  {name:17} {ours:6.2} ms, NumPy {theirs:6.2} ms: NumPy takes {:.2} times ours", theirs / ours);
    }
    println!();
}

criterion_group!(benches, field, columns, beside_numpy);
criterion_main!(benches);
