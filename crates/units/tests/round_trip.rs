//! The laws of units, at random: no unit loses a kept number, no text makes the reader panic.

use ligule_units::{
    Area, DegreeDays, Length, PlantDensity, Quantity, Rational, System, Temperature, Unit, format_fixed, parse,
};
use proptest::prelude::*;

fn any_unit() -> impl Strategy<Value = &'static Unit> {
    prop::sample::select(Unit::all().collect::<Vec<_>>())
}

fn two_of_a_kind() -> impl Strategy<Value = (&'static Unit, &'static Unit)> {
    any_unit().prop_flat_map(|unit| (Just(unit), prop::sample::select(Unit::of(unit.dimension).collect::<Vec<_>>())))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn there_and_back_is_exact(value in -1_000_000_000_000_i64..1_000_000_000_000, scale in 0_u8..=6, (unit, other) in two_of_a_kind()) {
        let kept = Quantity::from_fixed(value, unit, scale)?;
        prop_assert_eq!(kept.to(other)?.to(unit)?, kept);
        prop_assert_eq!(kept.to(other)?.to_fixed(unit, scale)?, value);
    }

    #[test]
    fn what_is_shown_reads_back_as_what_was_kept(value in -1_000_000_000_i64..1_000_000_000, scale in 0_u8..=4, unit in any_unit(), metric in any::<bool>()) {
        let shown = format_fixed(value, unit, scale, if metric { System::Metric } else { System::Us });
        let read = parse(&shown, unit)?;
        prop_assert_eq!(read.to_fixed(unit, scale)?, value, "shown as {}", shown);
    }

    #[test]
    fn a_unit_in_another_dimension_is_refused((unit, other) in (any_unit(), any_unit())) {
        let one = Quantity { value: Rational::ONE, unit };
        prop_assert_eq!(one.to(other).is_ok(), unit.dimension == other.dimension);
    }

    #[test]
    fn every_spelling_of_a_number_is_the_same_number(whole in 0_i64..1000, above in 0_i64..64) {
        let inch = Unit::by_ucum("[in_i]").expect("in the table");
        let expected = Rational::new(i128::from(whole * 64 + above), 64);
        for text in [format!("{whole} {above}/64 in"), format!("{whole}-{above}/64\""), format!("{}/64", whole * 64 + above)] {
            prop_assert_eq!(Some(parse(&text, inch)?.value), expected, "{}", text);
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,24}", unit in any_unit()) {
        let _ = parse(&text, unit).map(|q| (q.to_fixed(unit, 3), q.to_string())).map_err(|e| e.to_string());
    }

    #[test]
    fn no_text_made_of_likely_pieces_makes_the_reader_panic(
        pieces in prop::collection::vec(prop::sample::select(vec!["-", "1", "9999999999", ".", "/", "0", " ", "ft", "in", "'", "\"", "½", "°", "C", "F", "%", ",", "1/m2", "−", "per", "ac"]), 0..9),
        unit in any_unit(), scale in any::<u8>(),
    ) {
        let text = pieces.concat();
        let _ = parse(&text, unit).map(|q| (q.to_fixed(unit, scale), q.to_string())).map_err(|e| e.to_string());
    }

    #[test]
    fn any_kept_integer_can_be_shown(value in any::<i64>(), scale in any::<u8>(), unit in any_unit()) {
        for system in [System::Us, System::Metric] {
            prop_assert!(!format_fixed(value, unit, scale, system).is_empty());
        }
    }

    #[test]
    fn types_for_formulas_agree_with_the_exact_table(value in 1_i64..1_000_000_000) {
        let close = |ours: f64, exact: &str, from: &str| {
            let quantity = Quantity::from_fixed(value, Unit::by_ucum(from).expect("in the table"), 3).expect("fits");
            let exact = quantity.to(Unit::by_ucum(exact).expect("in the table")).expect("same dimension").to_f64();
            (ours - exact).abs() <= 1e-12 * exact.abs().max(500.0)
        };
        let x = value as f64 / 1000.0;
        prop_assert!(close(Length::from_inches(x).metres(), "m", "[in_i]"));
        prop_assert!(close(Length::from_metres(x).feet(), "[ft_i]", "m"));
        prop_assert!(close(Area::from_acres(x).hectares(), "har", "[acr_us]"));
        prop_assert!(close(Area::from_square_metres(x).square_feet(), "[sft_i]", "m2"));
        prop_assert!(close(PlantDensity::from_per_acre(x).per_hectare(), "1/har", "1/[acr_us]"));
        prop_assert!(close(Temperature::from_fahrenheit(x).celsius(), "Cel", "[degF]"));
        prop_assert!(close(Temperature::from_celsius(x).fahrenheit(), "[degF]", "Cel"));
        prop_assert!(close(DegreeDays::from_fahrenheit(x).celsius(), "K.d", "5.K.d/9"));
    }

    #[test]
    fn types_for_formulas_keep_the_last_printed_digit(value in -1_000_000_000_i64..1_000_000_000, decimals in 0_i32..=4) {
        let tens = 10_f64.powi(decimals);
        let x = value as f64 / tens;
        // There by each unit and back again.
        let returned = [
            Length::from_metres(Length::from_inches(x).metres()).inches(),
            Length::from_centimetres(Length::from_feet(x).centimetres()).feet(),
            Length::from_feet(Length::from_metres(x).feet()).metres(),
            Length::from_inches(Length::from_centimetres(x).inches()).centimetres(),
            Area::from_hectares(Area::from_acres(x).hectares()).acres(),
            PlantDensity::from_per_hectare(PlantDensity::from_per_acre(x).per_hectare()).per_acre(),
            PlantDensity::from_per_acre(PlantDensity::from_per_hectare(x).per_acre()).per_hectare(),
            Temperature::from_celsius(Temperature::from_fahrenheit(x).celsius()).fahrenheit(),
            Temperature::from_fahrenheit(Temperature::from_celsius(x).fahrenheit()).celsius(),
            DegreeDays::from_celsius(DegreeDays::from_fahrenheit(x).celsius()).fahrenheit(),
        ];
        for (which, back) in returned.into_iter().enumerate() {
            prop_assert_eq!((back * tens).round(), value as f64, "case {}: {} came back as {}", which, x, back);
        }
    }
}
