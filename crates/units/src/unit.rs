//! The table of units: symbol, UCUM code, dimension, exact factor, and what people of either system read instead.

use std::fmt;

use crate::rational::Rational;

/// What a unit measures. Units of one dimension convert into each other; others do not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Dimension {
    /// A pure number or a share.
    Ratio,
    /// Mass in mass, as laboratories report soil and tissue; kept apart from a share of plants.
    MassFraction,
    /// A distance, a depth, a row width.
    Length,
    /// An area of land.
    Area,
    /// Plants, seeds or pests per area.
    PerArea,
    /// Plants, seeds or pests per length of row.
    PerLength,
    /// A temperature, not a difference of two.
    Temperature,
    /// A temperature difference summed over days.
    DegreeDays,
    /// A span of time.
    Time,
    /// A mass.
    Mass,
    /// Mass per area of land.
    MassPerArea,
    /// Mass per volume of loose grain: its test weight.
    BulkDensity,
    /// Bushels of grain per area. A bushel that is sold is a mass which the crop decides, so it turns into nothing else.
    BushelsPerArea,
    /// Speed of wind or of a machine.
    Speed,
    /// An angle, a bearing.
    Angle,
    /// A pressure, a soil's resistance to a penetrometer.
    Pressure,
}

impl Dimension {
    /// Returns the dimension with its article, as messages name it: `a length`.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Ratio => "a number or a percentage",
            Self::MassFraction => "a content by mass",
            Self::Length => "a length",
            Self::Area => "an area",
            Self::PerArea => "a number per area",
            Self::PerLength => "a number per length",
            Self::Temperature => "a temperature",
            Self::DegreeDays => "a sum of degree days",
            Self::Time => "a span of time",
            Self::Mass => "a mass",
            Self::MassPerArea => "a mass per area",
            Self::BulkDensity => "a mass per bushel or hectolitre",
            Self::BushelsPerArea => "a number of bushels per area",
            Self::Speed => "a speed",
            Self::Angle => "an angle",
            Self::Pressure => "a pressure",
        }
    }

    /// Returns a quantity of this dimension as a person may write it.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Ratio => "45%",
            Self::MassFraction => "12 ppm",
            Self::Length => "17 ft 5 in",
            Self::Area => "40 ac",
            Self::PerArea => "32000/ac",
            Self::PerLength => "8.5/ft",
            Self::Temperature => "86F",
            Self::DegreeDays => "120 GDD",
            Self::Time => "3 d",
            Self::Mass => "56 lb",
            Self::MassPerArea => "100 lb/ac",
            Self::Speed => "7 mph",
            Self::Angle => "45 deg",
            Self::Pressure => "300 psi",
            Self::BulkDensity => "56 lb/bu",
            Self::BushelsPerArea => "203.5 bu/ac",
        }
    }

    /// Returns the symbols of its units, in the order of the table, separated by commas.
    pub fn symbols(self) -> String {
        let symbols: Vec<_> = Unit::of(self).map(|u| if u.symbol.is_empty() { "none" } else { u.symbol }).collect();
        symbols.join(", ")
    }
}

/// A unit of measure of the table.
///
/// A value in the unit is `value × factor + offset` in the dimension's base unit; the offset is zero but for
/// temperatures. Factors are exact: the inch is 25.4 mm (international yard and pound agreement, 1959), the
/// acre 43,560 square feet.
///
/// *On the acre.* UCUM has one acre of the United States, `[acr_us]`, and takes it from the survey foot, which
/// makes it 4 parts in a million larger than 43,560 international square feet. The survey foot was withdrawn at
/// the end of 2022 (National Institute of Standards and Technology, 2020, Federal Register 85 FR 62698), so the
/// code stands here for 43,560 international square feet; no number kept by this program has enough digits to
/// tell the difference.
#[derive(Clone, Copy)]
pub struct Unit {
    /// Its code in the Unified Code for Units of Measure (UCUM), case sensitive form.
    pub ucum: &'static str,
    /// What is printed after a number: `in`, `°F`; empty for pure numbers.
    pub symbol: &'static str,
    /// Its English name.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How many base units of its dimension it is.
    pub factor: Rational,
    /// What is added after the factor to reach the base unit: temperatures only.
    pub offset: Rational,
    pub(crate) spellings: &'static [&'static str],
    pub(crate) us: &'static str,
    pub(crate) metric: &'static str,
}

impl Unit {
    /// Returns the unit of that UCUM code, exactly as spelled in the table.
    ///
    /// ```
    /// use ligule_units::Unit;
    /// assert_eq!(Unit::by_ucum("[acr_us]").expect("in the table").symbol, "ac");
    /// assert!(Unit::by_ucum("furlong").is_none());
    /// ```
    pub fn by_ucum(code: &str) -> Option<&'static Unit> {
        TABLE.iter().find(|u| u.ucum == code)
    }

    /// Returns the unit that a person means by `text`: a symbol, a UCUM code, a name or another usual spelling.
    ///
    /// Capitals matter only where two spellings differ by them alone.
    pub fn by_spelling(text: &str) -> Option<&'static Unit> {
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let exact = TABLE.iter().find(|u| u.all_spellings().any(|s| s == words));
        exact.or_else(|| {
            let lower = words.to_lowercase();
            TABLE.iter().find(|u| u.all_spellings().any(|s| s.to_lowercase() == lower))
        })
    }

    /// Returns every unit, in the order of the table.
    pub fn all() -> impl Iterator<Item = &'static Unit> {
        TABLE.iter()
    }

    /// Returns the units of one dimension, in the order of the table.
    pub fn of(dimension: Dimension) -> impl Iterator<Item = &'static Unit> {
        TABLE.iter().filter(move |u| u.dimension == dimension)
    }

    pub(crate) fn all_spellings(&self) -> impl Iterator<Item = &'static str> {
        let own = [self.ucum, self.symbol, self.name].into_iter().filter(|s| !s.is_empty());
        own.chain(self.spellings.iter().copied())
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.ucum == other.ucum
    }
}

impl Eq for Unit {}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({})", self.ucum)
    }
}

/// One row of the table: UCUM code, symbol, name, dimension, factor as numerator and denominator, what readers of US
/// and of metric units see instead, other spellings.
macro_rules! unit {
    ($ucum:literal, $symbol:literal, $name:literal, $dimension:ident, $n:expr, $d:expr, $us:literal, $metric:literal, [$($spelling:literal),*]) => {
        unit!($ucum, $symbol, $name, $dimension, $n, $d, + 0, 1, $us, $metric, [$($spelling),*])
    };
    ($ucum:literal, $symbol:literal, $name:literal, $dimension:ident, $n:expr, $d:expr, + $on:expr, $od:expr, $us:literal, $metric:literal, [$($spelling:literal),*]) => {
        Unit {
            ucum: $ucum,
            symbol: $symbol,
            name: $name,
            dimension: Dimension::$dimension,
            factor: Rational::table($n, $d),
            offset: Rational::table($on, $od),
            spellings: &[$($spelling),*],
            us: $us,
            metric: $metric,
        }
    };
}

/// Cubic metres in a United States bushel, times 10¹⁴: 2150.42 cubic inches, 0.0254³ m³ each, exactly.
const BUSHEL_1E14: i128 = 3_523_907_016_688;

/// Square metres in an acre, times 10⁷: 43,560 × 0.3048² exactly.
const ACRE_1E7: i128 = 40_468_564_224;

static TABLE: &[Unit] = &[
    unit!("1", "", "one", Ratio, 1, 1, "1", "1", []),
    unit!("%", "%", "percent", Ratio, 1, 100, "%", "%", ["pct", "per cent", "por ciento"]),
    unit!("mg/kg", "ppm", "milligram per kilogram", MassFraction, 1, 1_000_000, "mg/kg", "mg/kg", ["[ppm]"]),
    unit!("g/kg", "g/kg", "gram per kilogram", MassFraction, 1, 1000, "g/kg", "g/kg", []),
    unit!(
        "[in_i]",
        "in",
        "inch",
        Length,
        254,
        10_000,
        "[in_i]",
        "cm",
        ["\"", "″", "”", "''", "in.", "inches", "pulgada", "pulgadas", "pulg"]
    ),
    unit!("[ft_i]", "ft", "foot", Length, 3048, 10_000, "[ft_i]", "m", ["'", "′", "’", "ft.", "feet", "pie", "pies"]),
    unit!("[yd_i]", "yd", "yard", Length, 9144, 10_000, "[yd_i]", "m", ["yards"]),
    unit!("[mi_i]", "mi", "mile", Length, 1_609_344, 1000, "[mi_i]", "km", ["miles"]),
    unit!("mm", "mm", "millimetre", Length, 1, 1000, "[in_i]", "mm", ["millimeter", "millimetres", "millimeters"]),
    unit!(
        "cm",
        "cm",
        "centimetre",
        Length,
        1,
        100,
        "[in_i]",
        "cm",
        ["centimeter", "centimetres", "centimeters", "centímetro", "centímetros"]
    ),
    unit!("m", "m", "metre", Length, 1, 1, "[ft_i]", "m", ["meter", "metres", "meters", "metro", "metros"]),
    unit!("km", "km", "kilometre", Length, 1000, 1, "[mi_i]", "km", ["kilometer", "kilometres", "kilometers"]),
    unit!(
        "[sft_i]",
        "sq ft",
        "square foot",
        Area,
        9_290_304,
        100_000_000,
        "[sft_i]",
        "m2",
        ["ft2", "ft²", "square feet", "sqft"]
    ),
    unit!("[acr_us]", "ac", "acre", Area, ACRE_1E7, 10_000_000, "[acr_us]", "har", ["acres"]),
    unit!(
        "m2",
        "m²",
        "square metre",
        Area,
        1,
        1,
        "[sft_i]",
        "m2",
        ["square meter", "sq m", "square metres", "square meters"]
    ),
    unit!("har", "ha", "hectare", Area, 10_000, 1, "[acr_us]", "har", ["hectares", "hectárea", "hectáreas"]),
    unit!(
        "1/[acr_us]",
        "/ac",
        "per acre",
        PerArea,
        10_000_000,
        ACRE_1E7,
        "1/[acr_us]",
        "1/har",
        [
            "/acre",
            "plants/ac",
            "plants per acre",
            "seeds/ac",
            "seeds per acre",
            "plantas/ac",
            "plantas por acre",
            "semillas/ac",
            "semillas por acre"
        ]
    ),
    unit!(
        "1/har",
        "/ha",
        "per hectare",
        PerArea,
        1,
        10_000,
        "1/[acr_us]",
        "1/har",
        [
            "/hectare",
            "plants/ha",
            "plants per hectare",
            "seeds/ha",
            "seeds per hectare",
            "plantas/ha",
            "plantas por hectárea",
            "semillas/ha",
            "semillas por hectárea"
        ]
    ),
    unit!(
        "1/[sft_i]",
        "/sq ft",
        "per square foot",
        PerArea,
        100_000_000,
        9_290_304,
        "1/[sft_i]",
        "1/m2",
        ["/ft2", "/ft²"]
    ),
    unit!("1/m2", "/m²", "per square metre", PerArea, 1, 1, "1/[sft_i]", "1/m2", ["/m2", "per square meter"]),
    unit!("1/[ft_i]", "/ft", "per foot", PerLength, 10_000, 3048, "1/[ft_i]", "1/m", ["per ft"]),
    unit!("1/m", "/m", "per metre", PerLength, 1, 1, "1/[ft_i]", "1/m", ["per m", "per meter"]),
    // The base unit of temperature is the kelvin, so that both scales are exact.
    unit!("[degF]", "°F", "degree Fahrenheit", Temperature, 5, 9, + 45_967, 180, "[degF]", "Cel", ["F", "degF", "deg F", "degrees Fahrenheit", "Fahrenheit"]),
    unit!("Cel", "°C", "degree Celsius", Temperature, 1, 1, + 27_315, 100, "[degF]", "Cel", ["C", "degC", "deg C", "degrees Celsius", "Celsius"]),
    // UCUM allows no product with [degF], so a Fahrenheit degree day is five ninths of a kelvin day.
    unit!(
        "5.K.d/9",
        "°F·d",
        "Fahrenheit degree day",
        DegreeDays,
        5,
        9,
        "5.K.d/9",
        "K.d",
        ["GDD", "DD", "DDF", "GDDF", "F.d", "degree days"]
    ),
    unit!("K.d", "°C·d", "Celsius degree day", DegreeDays, 1, 1, "5.K.d/9", "K.d", ["DDC", "GDDC", "C.d"]),
    unit!("min", "min", "minute", Time, 60, 1, "min", "min", ["minutes"]),
    unit!("h", "h", "hour", Time, 3600, 1, "h", "h", ["hr", "hours", "hora", "horas"]),
    unit!("d", "d", "day", Time, 86_400, 1, "d", "d", ["days"]),
    unit!("[oz_av]", "oz", "ounce", Mass, 45_359_237, 1_600_000_000, "[oz_av]", "g", ["ounces"]),
    unit!(
        "[lb_av]",
        "lb",
        "pound",
        Mass,
        45_359_237,
        100_000_000,
        "[lb_av]",
        "kg",
        ["lbs", "pounds", "libra", "libras"]
    ),
    unit!("g", "g", "gram", Mass, 1, 1000, "[oz_av]", "g", ["grams"]),
    unit!("kg", "kg", "kilogram", Mass, 1, 1, "[lb_av]", "kg", ["kilograms"]),
    unit!(
        "[lb_av]/[acr_us]",
        "lb/ac",
        "pound per acre",
        MassPerArea,
        45_359_237,
        10 * ACRE_1E7,
        "[lb_av]/[acr_us]",
        "kg/har",
        ["lbs/ac", "lb/acre"]
    ),
    unit!("kg/har", "kg/ha", "kilogram per hectare", MassPerArea, 1, 10_000, "[lb_av]/[acr_us]", "kg/har", []),
    // The metric tonne; `ton` is left out, which is 2,000 lb to others.
    unit!("t/har", "t/ha", "tonne per hectare", MassPerArea, 1, 10, "[lb_av]/[acr_us]", "kg/har", ["tn/ha"]),
    unit!(
        "[lb_av]/[bu_us]",
        "lb/bu",
        "pound per bushel",
        BulkDensity,
        45_359_237_000_000,
        BUSHEL_1E14,
        "[lb_av]/[bu_us]",
        "kg/hL",
        ["lbs/bu", "lb/bushel"]
    ),
    unit!("kg/hL", "kg/hL", "kilogram per hectolitre", BulkDensity, 10, 1, "[lb_av]/[bu_us]", "kg/hL", ["kg/hl"]),
    unit!(
        "[bu_us]/[acr_us]",
        "bu/ac",
        "bushel per acre",
        BushelsPerArea,
        BUSHEL_1E14,
        10_000_000 * ACRE_1E7,
        "[bu_us]/[acr_us]",
        "[bu_us]/[acr_us]",
        ["bu/acre", "bushels per acre"]
    ),
    unit!("[mi_i]/h", "mph", "mile per hour", Speed, 44_704, 100_000, "[mi_i]/h", "km/h", ["mi/h", "miles per hour"]),
    unit!("km/h", "km/h", "kilometre per hour", Speed, 5, 18, "[mi_i]/h", "km/h", ["kph", "kmh"]),
    unit!("m/s", "m/s", "metre per second", Speed, 1, 1, "[mi_i]/h", "m/s", []),
    unit!("deg", "°", "degree", Angle, 1, 1, "deg", "deg", ["degrees"]),
    // Pound-force per square inch: 0.45359237 × 9.80665 / 0.0254².
    unit!("[psi]", "psi", "pound per square inch", Pressure, 44_482_216_152_605, 6_451_600_000, "[psi]", "kPa", []),
    unit!("kPa", "kPa", "kilopascal", Pressure, 1000, 1, "[psi]", "kPa", []),
    unit!("MPa", "MPa", "megapascal", Pressure, 1_000_000, 1, "[psi]", "MPa", []),
];

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use super::*;

    #[test]
    fn every_spelling_means_one_unit() {
        let mut seen: HashMap<String, &str> = HashMap::new();
        for unit in Unit::all() {
            for spelling in unit.all_spellings() {
                if let Some(other) = seen.insert(spelling.to_lowercase(), unit.ucum) {
                    assert_eq!(other, unit.ucum, "`{spelling}` means two units");
                }
            }
        }
    }

    #[test]
    fn what_either_system_reads_is_in_the_table_and_of_the_same_dimension() {
        for unit in Unit::all() {
            for code in [unit.us, unit.metric] {
                let shown = Unit::by_ucum(code).unwrap_or_else(|| panic!("{code} is not in the table"));
                assert_eq!(shown.dimension, unit.dimension, "{unit:?} is shown as {shown:?}");
            }
        }
    }

    #[test]
    fn an_acre_is_43_560_square_feet_and_4_millionths_less_than_the_survey_acre() {
        let (acre, foot) = (Unit::by_ucum("[acr_us]").unwrap(), Unit::by_ucum("[sft_i]").unwrap());
        assert_eq!(acre.factor.checked_div(foot.factor), Some(Rational::whole(43_560)));
        // UCUM 2.2, table 6: [acr_us] = 160 [srd_us]; the survey rod is 16.5 × 1200/3937 m.
        let survey = 160.0 * (16.5_f64 * 1200.0 / 3937.0).powi(2);
        assert!((survey / acre.factor.to_f64() - 1.0 - 4.0e-6).abs() < 1e-10);
    }

    #[test]
    fn a_pound_a_bushel_is_as_much_as_handbooks_print() {
        // 1 lb/bu = 1.287 kg/hL: Canadian Grain Commission, test weight conversion, Winchester bushel (from memory).
        let (pound, hectolitre) = (Unit::by_ucum("[lb_av]/[bu_us]").unwrap(), Unit::by_ucum("kg/hL").unwrap());
        let ratio = pound.factor.checked_div(hectolitre.factor).unwrap().to_f64();
        assert!((ratio - 1.287).abs() < 5e-4, "{ratio}");
        // NIST SP 811 (2008), appendix B.8: the bushel is 3.523 907 × 10⁻² m³.
        assert!((BUSHEL_1E14 as f64 / 1e14 - 3.523_907e-2).abs() < 5e-9);
    }

    #[test]
    fn factors_agree_with_those_of_uom() {
        use uom::si::f64::{Area, Length, Mass, Pressure, Velocity};
        use uom::si::{area, length, mass, pressure, velocity};
        // The second opinion: uom 0.38, whose factors come from NIST SP 811 (2008), appendix B.
        let pairs = [
            ("[in_i]", Length::new::<length::inch>(1.0).value),
            ("[ft_i]", Length::new::<length::foot>(1.0).value),
            ("[yd_i]", Length::new::<length::yard>(1.0).value),
            ("[mi_i]", Length::new::<length::mile>(1.0).value),
            ("mm", Length::new::<length::millimeter>(1.0).value),
            ("cm", Length::new::<length::centimeter>(1.0).value),
            ("km", Length::new::<length::kilometer>(1.0).value),
            ("[sft_i]", Area::new::<area::square_foot>(1.0).value),
            ("har", Area::new::<area::hectare>(1.0).value),
            ("[lb_av]", Mass::new::<mass::pound>(1.0).value),
            ("[oz_av]", Mass::new::<mass::ounce>(1.0).value),
            ("[mi_i]/h", Velocity::new::<velocity::mile_per_hour>(1.0).value),
            ("km/h", Velocity::new::<velocity::kilometer_per_hour>(1.0).value),
            ("[psi]", Pressure::new::<pressure::pound_force_per_square_inch>(1.0).value),
        ];
        for (code, theirs) in pairs {
            let ours = Unit::by_ucum(code).unwrap().factor.to_f64();
            // SP 811 prints the ounce, the mile per hour and the psi to seven digits.
            assert!((ours / theirs - 1.0).abs() < 5e-7, "{code}: ours {ours}, theirs {theirs}");
        }
    }
}
