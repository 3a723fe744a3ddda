//! Replanting at random: no number panics, tables stay monotone between their lines, budgets add up, break-evens turn.

use jiff::civil::{Date, date};
use ligule_agronomy::Error;
use ligule_agronomy::replant::{
    Answers, BreakEven, Costs, Planting, Question, Situation, YieldMatrix, break_even_date, break_even_stand, budget,
    latest_safe_planting, sensitivities, soybean_date_yield, soybean_decisions, soybean_stand_yields, uneven_stand,
    yield_potential, yield_potentials,
};
use ligule_units::{DegreeDays, PlantDensity};
use proptest::num::f64::ANY;
use proptest::prelude::*;

fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => ANY,
        3 => prop::sample::select(vec![0.0, -0.0, 1e9, -1e9, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX]),
        4 => -100.0..60_000.0_f64,
        3 => 0.0..1.0_f64,
    ]
}

fn any_day() -> impl Strategy<Value = Date> {
    (prop_oneof![1 => -9999..=9999_i16, 4 => 2024..=2028_i16], 1..=12_i8, 1..=28_i8)
        .prop_map(|(year, month, day)| date(year, month, day))
}

fn matrix() -> impl Strategy<Value = YieldMatrix> {
    prop::sample::select(YieldMatrix::ALL.to_vec())
}

fn stand(per_acre: f64) -> PlantDensity {
    PlantDensity::from_per_acre(per_acre)
}

/// A situation inside the tables.
fn sensible() -> impl Strategy<Value = Situation> {
    let money = || 0.0..120.0_f64;
    let matrix = prop::sample::select(vec![YieldMatrix::Illinois, YieldMatrix::Iowa2001]);
    (
        (matrix, 80.0..260.0_f64, 2.0..8.0_f64, 0.0..1.0_f64),
        (0..15_i8, 12_000.0..32_000.0_f64, 0.0..0.1_f64),
        (1..31_i8, 20_000.0..32_000.0_f64),
        (money(), money(), money(), 0.0..8.0_f64),
    )
        .prop_map(
            |((matrix, full_yield, price, harvest_cost), (days, kept, gaps), (in_may, new), (a, b, c, points))| {
                let planted = date(2026, 4, 20 + days.min(10));
                Situation {
                    full_yield,
                    price,
                    harvest_cost,
                    kept: Planting { gaps, ..Planting::uniform(matrix, planted, stand(kept)) },
                    replanted: Planting::uniform(matrix, date(2026, 5, in_may), stand(new)),
                    costs: Costs { seed: a, seed_credit: b, planting: c, ..Costs::default() },
                    drying_points: points,
                    drying_cost: 0.05,
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(600) })]

    #[test]
    fn nothing_panics(a in wild(), b in wild(), c in wild(), one in any_day(), other in any_day(), m in matrix(), n in matrix()) {
        let share = yield_potential(m, one, stand(a));
        prop_assert!(share.map_or(true, |share| (0.0..=1.0).contains(&share)));
        prop_assert_eq!(yield_potentials(one, stand(a)).len(), YieldMatrix::ALL.len());
        prop_assert!(uneven_stand(a, &[b, c]).map_or(true, |share| (0.0..=1.5).contains(&share)));
        let situation = Situation {
            full_yield: a,
            price: b,
            harvest_cost: c,
            kept: Planting { gaps: c, ..Planting::uniform(m, one, stand(a)) },
            replanted: Planting::uniform(n, other, stand(b)),
            costs: Costs { seed: a, seed_credit: b, insurance: c, ..Costs::default() },
            drying_points: b,
            drying_cost: c,
        };
        let answers = Answers { nitrogen: Some(a), plant_back_over: Some(one), latest_planting: Some(other), ..Answers::default() };
        prop_assert!(budget(&situation, &answers).map_or(true, |budget| budget.net.is_finite()));
        let _ = break_even_stand(&situation);
        let _ = break_even_date(&situation);
        let _ = sensitivities(&situation, Some(stand(c)));
        let _ = soybean_decisions(stand(a));
        let _ = soybean_stand_yields(stand(a));
        let _ = soybean_date_yield(one);
        let normals = [DegreeDays::from_fahrenheit(b), DegreeDays::from_fahrenheit(c)];
        let _ = latest_safe_planting(DegreeDays::from_fahrenheit(a), &normals);
    }

    #[test]
    fn thicker_stands_yield_no_less_up_to_the_optimum(low in 12_000.0..30_000.0_f64, more in 0.0..5_000.0_f64, day in 0..47_i32) {
        // Every table rises, or stays, from its thinnest stand to 30,000 plants.
        let planted = date(2026, 4, 20).checked_add(jiff::ToSpan::days(day)).expect("a day");
        for matrix in YieldMatrix::ALL {
            let of = |plants: f64| yield_potential(*matrix, planted, stand(plants));
            if let (Ok(thin), Ok(thick)) = (of(low), of((low + more).min(30_000.0))) {
                prop_assert!(low + more > 30_000.0 && low > 30_000.0 || thick >= thin - 1e-12, "{matrix:?} {planted} {thin} {thick}");
            }
        }
    }

    #[test]
    fn later_is_never_better_after_early_may(day in 0..38_i32, later in 0..20_i32, plants in 12_000.0..36_000.0_f64) {
        let planted = date(2026, 5, 2).checked_add(jiff::ToSpan::days(day)).expect("a day");
        let after = planted.checked_add(jiff::ToSpan::days(later)).expect("a day");
        for matrix in YieldMatrix::ALL {
            let of = |day| yield_potential(*matrix, day, stand(plants));
            if let (Ok(early), Ok(late)) = (of(planted), of(after)) {
                prop_assert!(late <= early + 1e-12, "{matrix:?} {planted} {after} {plants}");
            }
        }
    }

    #[test]
    fn every_year_reads_alike(year in 1990..2060_i16, month in 4..7_i8, day in 1..=28_i8, plants in 10_000.0..36_000.0_f64) {
        for matrix in YieldMatrix::ALL {
            let of = |year| yield_potential(*matrix, date(year, month, day), stand(plants)).ok();
            prop_assert_eq!(of(year), of(2026));
        }
    }

    #[test]
    fn the_lines_add_up_and_the_questions_are_all_there(situation in sensible()) {
        let Ok(budget) = budget(&situation, &Answers::default()) else { return Ok(()) };
        let sum: f64 = budget.lines.iter().map(|line| line.dollars).sum();
        prop_assert!((sum - budget.net).abs() < 1e-9);
        let asked: Vec<_> = budget.asked.iter().map(|one| one.question).collect();
        prop_assert_eq!(asked, Question::ALL.to_vec());
        prop_assert!(budget.asked.iter().all(|one| !one.says.is_empty()));
    }

    #[test]
    fn the_sum_turns_at_the_break_even_stand(situation in sensible()) {
        let Ok(BreakEven::At(turn)) = break_even_stand(&situation) else { return Ok(()) };
        let with = |per_acre: f64| {
            let mut varied = situation;
            varied.kept.stand = stand(per_acre);
            budget(&varied, &Answers::default()).map(|budget| budget.net)
        };
        let at = with(turn.per_acre()).expect("the turn lies in the table");
        prop_assert!(at.abs() < 1e-6, "{at}");
        if let Ok(thinner) = with(turn.per_acre() - 200.0) {
            prop_assert!(thinner > -1e-9);
        }
    }

    #[test]
    fn the_last_paying_day_pays_and_the_next_does_not(situation in sensible()) {
        let Ok(BreakEven::At(day)) = break_even_date(&situation) else { return Ok(()) };
        let with = |day| {
            let mut varied = situation;
            varied.replanted.planted = day;
            budget(&varied, &Answers::default()).expect("inside the table").net
        };
        prop_assert!(with(day) >= 0.0);
        prop_assert!(with(day.tomorrow().expect("a day")) < 0.0);
    }

    #[test]
    fn sensitivities_are_ranked_and_hold_the_base_between_their_ends(situation in sensible()) {
        let Ok(budget) = budget(&situation, &Answers::default()) else { return Ok(()) };
        let ranked = sensitivities(&situation, None).expect("the budget worked");
        prop_assert!(ranked.windows(2).all(|pair| pair[0].swing >= pair[1].swing));
        for one in &ranked {
            let (low, high) = (one.ends[0].net.min(one.ends[1].net), one.ends[0].net.max(one.ends[1].net));
            // Gaps go over the published penalties, which need not hold what was given; a date or a stand may sit on a ridge.
            if !matches!(one.input, "loss to gaps" | "replant date" | "stand kept" | "replanted stand") {
                prop_assert!(low - 1e-9 <= budget.net && budget.net <= high + 1e-9, "{one:?} {}", budget.net);
            }
            prop_assert!((one.swing - (high - low)).abs() < 1e-9);
        }
    }

    #[test]
    fn soybean_loses_more_the_later(day in 0..41_i32) {
        let of = |day: i32| soybean_date_yield(date(2026, 5, 10).checked_add(jiff::ToSpan::days(day)).expect("a day"));
        prop_assert!(of(day + 1).map_or(true, |late| late < of(day).expect("inside")));
    }
}

#[test]
fn outside_a_table_nothing_is_read() {
    for (matrix, day, plants) in [
        (YieldMatrix::Illinois, date(2026, 4, 9), 30_000.0),
        (YieldMatrix::Illinois, date(2026, 6, 10), 30_000.0),
        (YieldMatrix::Illinois, date(2026, 5, 1), 9_999.0),
        (YieldMatrix::Illinois, date(2026, 5, 1), 36_001.0),
        (YieldMatrix::Iowa2001, date(2026, 6, 29), 30_000.0),
        (YieldMatrix::Iowa2010, date(2026, 5, 1), 19_000.0),
        (YieldMatrix::WisconsinFull, date(2026, 5, 1), 25_999.0),
        // Printed as a dash.
        (YieldMatrix::WisconsinShort, date(2026, 6, 10), 26_000.0),
        (YieldMatrix::WisconsinFull, date(2026, 6, 15), 26_500.0),
        (YieldMatrix::Iowa2001, date(2028, 2, 29), 30_000.0),
    ] {
        let said = yield_potential(matrix, day, stand(plants));
        assert!(matches!(said, Err(Error::OutsideTable { .. })), "{matrix:?} {day} {plants}: {said:?}");
    }
    // A blank beside a printed line does not count on the line.
    assert!(yield_potential(YieldMatrix::WisconsinShort, date(2026, 6, 10), stand(28_000.0)).is_ok());
}

#[test]
fn a_table_says_where_it_ends() {
    let error = yield_potential(YieldMatrix::Illinois, date(2026, 6, 20), stand(30_000.0)).unwrap_err().to_string();
    assert_eq!(
        error,
        "outside the table: the Illinois table of yield by date and stand has planting dates 10 April to 9 June, got 20 June"
    );
}

#[test]
fn tables_of_different_scales_are_not_compared() {
    let planting = |matrix, month, day| Planting::uniform(matrix, date(2026, month, day), stand(28_000.0));
    let mut situation = Situation {
        full_yield: 180.0,
        price: 4.0,
        harvest_cost: 0.0,
        kept: planting(YieldMatrix::Illinois, 4, 25),
        replanted: planting(YieldMatrix::Iowa2001, 5, 20),
        costs: Costs::default(),
        drying_points: 0.0,
        drying_cost: 0.0,
    };
    assert!(matches!(budget(&situation, &Answers::default()), Err(Error::UnknownWord { .. })));
    situation.kept = planting(YieldMatrix::WisconsinFull, 5, 1);
    situation.replanted = planting(YieldMatrix::WisconsinShort, 5, 30);
    assert!(budget(&situation, &Answers::default()).is_ok());
    // Before the first planting, or in another year, nothing is replanted.
    situation.replanted.planted = date(2026, 4, 30);
    assert!(matches!(budget(&situation, &Answers::default()), Err(Error::OutOfRange { .. })));
    situation.replanted.planted = date(2027, 5, 30);
    assert!(matches!(budget(&situation, &Answers::default()), Err(Error::OutOfRange { .. })));
}
