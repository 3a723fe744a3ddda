//! Invented units for the archive's tests; deterministic.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use ligule_archive::boundary::Boundary;
use ligule_archive::ids::{CrewId, DeviceId, DocKey, Feature};
use ligule_archive::kind::{Kind, Measure, ResultType};
use ligule_archive::record::{Measured, Place, Record, Value, Void};
use ligule_archive::{FarmUnit, FieldFacts, Progress, well_known_binary};

/// A number between 0 and 1 that looks random and is the same every time.
pub(crate) fn noise(seed: u64) -> f64 {
    let mut x = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03;
    x ^= x >> 32;
    x = x.wrapping_mul(0xD6E8_FEB8_6659_FD93);
    x ^= x >> 32;
    (x >> 11) as f64 / (1u64 << 53) as f64
}

fn measure(name: &str, result: ResultType, unit: &str, scale: u8, suffix: &str) -> Measure {
    Measure {
        name: name.into(),
        flag: None,
        label: BTreeMap::from([("en".into(), name.replace('_', " "))]),
        about: BTreeMap::from([("en".into(), format!("What `{name}` is."))]),
        result,
        unit: (!unit.is_empty()).then(|| unit.into()),
        scale,
        range: None,
        suffix: suffix.into(),
        required: false,
        choices: vec![],
        codelist: None,
        ascending: false,
    }
}

fn kind(name: &str, version: u32, measures: Vec<Measure>) -> Kind {
    let english = |text: &str| BTreeMap::from([("en".to_owned(), text.to_owned())]);
    Kind {
        kind: name.into(),
        version,
        label: english(name),
        about: english(&format!("Rows of {name}.")),
        protocol: english("Count."),
        feature: "stand".into(),
        crops: vec![],
        stages: vec![],
        needs: Vec::new(),
        together: false,
        relations: Vec::new(),
        example: String::new(),
        measures,
    }
}

/// A count of plants: decimals, whole numbers, a choice, a day.
pub(crate) fn count_kind() -> Kind {
    kind(
        "stand-count",
        1,
        vec![
            measure("row_width", ResultType::Quantity, "[in_i]", 3, "in"),
            measure("plants", ResultType::Quantity, "1", 1, ""),
            measure("rows", ResultType::Count, "1", 0, ""),
            measure("vigour", ResultType::Choice, "", 0, ""),
            measure("sown", ResultType::Day, "", 0, ""),
        ],
    )
}

/// The same one version later, with a measure more.
pub(crate) fn count_kind_2() -> Kind {
    let mut kind = count_kind();
    kind.version = 2;
    kind.measures.push(measure("length", ResultType::Quantity, "[ft_i]", 4, "ft"));
    kind
}

/// Seed depths: a list and a quantity.
pub(crate) fn depth_kind() -> Kind {
    kind(
        "seed-depth",
        1,
        vec![
            measure("seed_to_surface", ResultType::List, "[in_i]", 3, "in"),
            measure("set_depth", ResultType::Quantity, "[in_i]", 3, "in"),
        ],
    )
}

pub(crate) fn kinds() -> Vec<Kind> {
    vec![count_kind(), depth_kind()]
}

fn value(value: Value) -> Measured {
    Measured { value, entered: None }
}

fn record(field: &str, season: i32, n: u64, kind: &str, values: Vec<(&str, Value)>) -> Record {
    let seed = n.wrapping_add(season as u64 * 1_000_003).wrapping_add(field.bytes().map(u64::from).sum::<u64>() << 20);
    let at: Timestamp = format!("{season}-05-20T14:00:00Z").parse().expect("a valid time");
    let at = at + jiff::Span::new().minutes((noise(seed) * 40_000.0) as i64);
    Record {
        key: format!("01VISIT{field}{season}{:02}-{n:02}", n / 10),
        visit: format!("01VISIT{field}{season}{:02}", n / 10),
        kind: kind.into(),
        feature: Feature::Field(field.into()),
        season,
        crop: "corn".into(),
        at,
        offset_minutes: -300,
        day: jiff::tz::TimeZone::UTC.to_datetime(at).date(),
        by: "A. Scout".into(),
        device: DeviceId([7; 32]),
        place: (!n.is_multiple_of(3)).then(|| Place {
            lon_e7: -930_000_000 + (noise(seed + 1) * 1e6) as i32,
            lat_e7: 420_000_000 + (noise(seed + 2) * 1e6) as i32,
        }),
        values: values.into_iter().map(|(name, v)| (name.to_owned(), value(v))).collect(),
        void: (n % 11 == 5).then(|| Void { why: "counted twice".into(), by: "A. Scout".into(), at, also: Vec::new() }),
        conflicts: if n % 17 == 3 { vec!["plants".into()] } else { vec![] },
    }
}

/// A square with a hole in it; of every other field there is a second square beside.
pub(crate) fn boundary(field: &str) -> Boundary {
    let square = |west: f64, south: f64, side: f64| {
        vec![(west, south), (west + side, south), (west + side, south + side), (west, south + side)]
    };
    let n = field.bytes().map(u32::from).sum::<u32>();
    let (west, south) = (-93.62 - f64::from(n % 7) / 10.0, 42.03);
    let mut polygons = vec![vec![square(west, south, 0.004), square(west + 0.001, south + 0.001, 0.0005)]];
    if n % 2 == 0 {
        polygons.push(vec![square(west + 0.01, south, 0.002)]);
    }
    Boundary::new(&polygons).expect("squares that do not cross")
}

/// A field in a season with `counts` stand counts, as many depth lists, and one observation of a kind nobody knows.
pub(crate) fn unit(field: &str, season: i32, counts: u64, heads: &str) -> FarmUnit {
    let mut records = Vec::new();
    for n in 0..counts {
        let plants = 250 + (noise(n + season as u64) * 80.0) as i64;
        let mut values = vec![
            ("row_width", Value::Int(30_000)),
            ("plants", Value::Int(plants)),
            ("vigour", Value::Text("even".into())),
            ("sown", Value::Text(format!("{season}-05-02"))),
            ("length", Value::Int(174_240)),
        ];
        if n % 2 == 0 {
            values.push(("rows", Value::Int(1 + n as i64 % 4)));
        }
        records.push(record(field, season, 2 * n, "stand-count", values));
        let depths = Value::Text(format!("2.{} 1.875 2", n % 10));
        records.push(record(
            field,
            season,
            2 * n + 1,
            "seed-depth",
            vec![("seed_to_surface", depths), ("set_depth", Value::Int(2000))],
        ));
    }
    records.push(record(field, season, 2 * counts, "moon-phase", vec![("phase", Value::Text("full".into()))]));
    let feature = Feature::Field(field.into());
    let key = DocKey { crew: CrewId([1; 16]), feature: feature.clone(), season };
    FarmUnit {
        doc: key.id(),
        feature,
        season,
        crop: "corn".into(),
        heads: heads.into(),
        replaces: None,
        field: Arc::new(FieldFacts {
            name: format!("Field {field}"),
            grower: "Invented Farms".into(),
            region: "north".into(),
            zone: "America/Chicago".into(),
            area_m2: Some(161_874),
            row_width_mil: Some(30_000),
            soil: "creek bottom".into(),
            middle: Some(Place { lon_e7: -936_200_000, lat_e7: 420_300_000 }),
            boundary: well_known_binary(&boundary(field)),
            ..FieldFacts::default()
        }),
        records,
    }
}

/// Fields `F00`, `F01`, … over seasons.
pub(crate) fn farm(fields: usize, seasons: std::ops::RangeInclusive<i32>, counts: u64) -> Vec<FarmUnit> {
    seasons.flat_map(|season| (0..fields).map(move |f| unit(&format!("F{f:02}"), season, counts, "h1"))).collect()
}

pub(crate) fn at(text: &str) -> Timestamp {
    text.parse().expect("a valid time")
}

pub(crate) fn quiet(_: Progress) {}
