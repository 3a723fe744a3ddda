//! An invented field with every section of the page filled.

use jiff::civil::{Date, date};
use ligule_engine::assess::*;

pub(crate) fn cite(text: &str, year: i32, basis: &str) -> Citation {
    Citation { text: text.to_owned(), year, basis: basis.to_owned() }
}

fn key(n: usize) -> String {
    format!("01HXZ3F0C7W2S4K8Q9M5T6V1BA-{n:02}")
}

fn course(from: Date, days: i64) -> Vec<(Date, f64)> {
    let mut sum = 0.0;
    (0..days)
        .map(|i| {
            sum += 9.0 + 7.0 * (i as f64 / 5.0).sin().abs() + i as f64 / 6.0;
            (from.checked_add(jiff::Span::new().days(i)).expect("in the calendar"), sum)
        })
        .collect()
}

/// Returns the assessment of an invented corn field.
pub(crate) fn assessment() -> FieldAssessment {
    let (planted, seen) = (date(2024, 4, 27), date(2024, 6, 10));
    let t = cite(
        "NIST/SEMATECH (2012), e-Handbook of Statistical Methods, section 7.2.2.1: t interval of a mean",
        2012,
        "page",
    );
    let plants = [30.0, 28.0, 31.0, 27.0, 29.0, 26.0, 32.0, 29.0];
    let counts: Vec<StandCount> = plants
        .iter()
        .enumerate()
        .map(|(i, plants)| StandCount {
            observation: key(i + 2),
            day: seen,
            plants: *plants,
            sample: "17.42 ft at 30 in".to_owned(),
            plants_per_acre: plants * 1000.0,
        })
        .collect();
    let course = course(date(2024, 4, 28), 43);
    let total = course.last().map_or(0.0, |(_, sum)| *sum);
    let mark =
        |stage: &str, at: usize| StageMark { stage: stage.to_owned(), day: course[at].0, degree_days_f: course[at].1 };
    FieldAssessment {
        feature: "field:01HXZ3F0C7W2S4K8Q9M5T6FJ00".to_owned(),
        season: 2024,
        crop: "corn".to_owned(),
        as_of: seen,
        planting: Some(Planting {
            day: planted,
            days_ago: 44,
            seeds_per_acre: Some(34_000.0),
            row_width_in: Some(30.0),
            target_depth_in: Some(2.0),
            relative_maturity: None,
            cautions: vec![],
            rests_on: vec![key(1)],
        }),
        stand: Some(Stand {
            days: (seen, seen),
            plants_per_acre: 29_000.0,
            interval_95: Some((27_328.0, 30_672.0)),
            standard_deviation: Some(2000.0),
            variation_percent: Some(6.9),
            more_counts_for_5_percent: Some(2),
            more_counts_for_10_percent: Some(0),
            share_of_seeds_percent: Some(85.3),
            cautions: vec![],
            rests_on: counts.iter().map(|c| c.observation.clone()).collect(),
            sources: vec![cite("Plants per acre: 43,560 square feet in an acre", 0, "derived"), t],
            counts,
        }),
        stage: Some(Stage {
            day: seen,
            field_stage: "V7".to_owned(),
            spread: ("V5".to_owned(), "V8".to_owned()),
            plants: vec![("V5".to_owned(), 2), ("V6".to_owned(), 5), ("V7".to_owned(), 9), ("V8".to_owned(), 4)],
            bbch: Some((17, 19)),
            behind_percent: Some(10.0),
            cautions: vec![],
            rests_on: vec![key(11)],
            sources: vec![cite("R. L. Nielsen (2019), Determining Corn Leaf Stages, Purdue University", 2019, "page")],
        }),
        seed_depth: Some(SeedDepth {
            seeds: 10,
            mean_in: 1.63,
            standard_deviation_in: Some(0.31),
            range_in: (1.0, 2.0),
            target_in: Some(2.0),
            beyond_quarter_inch_percent: Some(60.0),
            beyond_half_inch_percent: Some(30.0),
            cautions: vec![
                "1 of 10 seeds lies shallower than 1¼ in: roots may form in dry soil and plants may fall over."
                    .to_owned(),
            ],
            rests_on: vec![key(12)],
            sources: vec![cite(
                "G. LaBarge (2023), Corn planting depth and emergence problems, Ohio State University",
                2023,
                "page",
            )],
        }),
        degree_days: Some(DegreeDays {
            station: "long-eighty".to_owned(),
            method: "86/50 °F modified average".to_owned(),
            from: date(2024, 4, 28),
            to: date(2024, 6, 9),
            total_f: total,
            days: 43,
            missing_days: 1,
            marks: vec![mark("VE", 9), mark("V2", 19), mark("V4", 29), mark("V6", 38)],
            course,
            expected: vec![ExpectedStage {
                rate: "rate of Purdue University".to_owned(),
                stage: "V6".to_owned(),
                band: ("V5".to_owned(), "V7".to_owned()),
            }],
            cautions: vec![
                "The expected stage takes 115 degree days to emergence; fields differ from 90 to 150.".to_owned(),
            ],
            rests_on: vec![key(1)],
            sources: vec![cite(
                "R. L. Nielsen, Heat Unit Concepts Related to Corn Development, Purdue University",
                0,
                "page",
            )],
        }),
        spacing: Some(Spacing {
            day: seen,
            places: 2,
            gaps: 60,
            mean_in: 6.9,
            standard_deviation_in: Some(3.5),
            intended_in: Some(6.15),
            doubles_percent: Some(5.0),
            skips_percent: Some(8.3),
            losses: vec![SpacingLoss { study: "purdue-1991".to_owned(), bushels_per_acre: 3.75 }],
            cautions: vec!["The studies do not agree.".to_owned()],
            rests_on: vec![key(20)],
            sources: vec![],
        }),
        height: Some(Height {
            day: seen,
            plants: 5,
            mean_in: 18.5,
            standard_deviation_in: Some(1.0),
            range_in: (17.0, 20.0),
            rests_on: vec![key(21)],
            sources: vec![],
        }),
        damages: vec![Damage {
            event: "hail".to_owned(),
            happened: Some(date(2024, 6, 1)),
            day: seen,
            places: 2,
            lost: Some(Share {
                label: "Plants lost".to_owned(),
                word: "lost".to_owned(),
                plants: 12,
                examined: 200,
                percent: 6.0,
                interval_95: Some((3.5, 10.2)),
            }),
            leaf_lost_percent: Some(50.0),
            leaf_lost_range_percent: Some((40.0, 60.0)),
            stage: Some("V7".to_owned()),
            growing_points: vec!["firm, white to cream".to_owned()],
            loss_from_plants_percent: Some((1.0, 4.0)),
            loss_from_leaf_percent: Some((3.0, 4.0)),
            yield_loss_percent: Some((4.0, 8.0)),
            cautions: vec!["An agronomic estimate, not an insurance settlement.".to_owned()],
            rests_on: vec![key(22)],
            sources: vec![],
        }],
        diseases: vec![Disease {
            organism: "CERCZM".to_owned(),
            label: "gray leaf spot".to_owned(),
            day: seen,
            affected: Some(Share {
                label: "Plants affected".to_owned(),
                word: "affected".to_owned(),
                plants: 9,
                examined: 20,
                percent: 45.0,
                interval_95: Some((25.8, 65.8)),
            }),
            severity_percent: Some(5.0),
            highest_leaf: Some("ear leaf".to_owned()),
            rests_on: vec![key(23)],
            sources: vec![],
        }],
        yield_estimate: Some(YieldEstimate {
            day: seen,
            places: 5,
            bushels_per_acre: 187.3,
            interval_95: Some((170.0, 204.6)),
            by_kernel_factors: Some((144.7, 227.4)),
            cautions: vec!["Such an estimate is often off by 20.0 bu/ac.".to_owned()],
            rests_on: vec![key(24)],
            sources: vec![],
        }),
        harvest: Some(Harvest {
            days: (seen, seen),
            parts: 1,
            bushels_per_acre: Some(200.0),
            as_told: false,
            moisture_percent: Some(18.5),
            test_weight_lb_per_bu: Some(57.5),
            plants_per_acre: Some(28_000.0),
            stand_kept_percent: Some(96.6),
            barren_percent: Some(2.0),
            lodged_percent: Some(4.0),
            cautions: vec![],
            rests_on: vec![key(25)],
            sources: vec![],
        }),
        pests: vec![Pest {
            organism: "AGROYP".to_owned(),
            label: "black cutworm".to_owned(),
            day: seen,
            damaged: Some(Share {
                label: "Plants damaged".to_owned(),
                word: "damaged".to_owned(),
                plants: 7,
                examined: 250,
                percent: 2.8,
                interval_95: Some((1.36, 5.67)),
            }),
            cut: Some(Share {
                label: "Plants cut".to_owned(),
                word: "cut".to_owned(),
                plants: 3,
                examined: 250,
                percent: 1.2,
                interval_95: Some((0.41, 3.47)),
            }),
            rests_on: vec![key(13), key(14)],
            sources: vec![cite(
                "E. B. Wilson (1927), Probable inference, J. American Statistical Association 22:209-212",
                1927,
                "page",
            )],
        }],
        weeds: vec![Weed {
            organism: "AMATU".to_owned(),
            label: "waterhemp".to_owned(),
            day: seen,
            spots: 5,
            spots_with_it: 3,
            interval_95: Some((23.1, 88.2)),
            per_square_foot: Some(0.42),
            tallest_in: Some(3.5),
            rests_on: vec![key(15)],
            sources: vec![],
        }],
        soil: Some(LastCheck {
            day: seen,
            values: vec![("Depth".to_owned(), "6 in".to_owned()), ("Structure".to_owned(), "platy".to_owned())],
            rests_on: vec![key(16)],
        }),
        roots: Some(LastCheck {
            day: seen,
            values: vec![("Sidewall".to_owned(), "roots partly turned".to_owned())],
            rests_on: vec![key(17)],
        }),
        notes: vec![Note {
            day: seen,
            by: "Ann".to_owned(),
            text: "Wet corner in the north-east stays wet; the row beside the track is thin.".to_owned(),
            observation: key(18),
        }],
        reentry: None,
        set_aside: vec![SetAside {
            observation: key(19),
            measure: "plants".to_owned(),
            why: "Two people wrote different values; the value is left out until one of them is chosen.".to_owned(),
        }],
        voided: 1,
        lacking: vec![],
    }
}

/// Returns two findings, the less urgent first.
pub(crate) fn findings() -> Vec<Finding> {
    vec![
        Finding {
            pack: "corn-cutworm 0.1.0".to_owned(),
            code: "below-threshold".to_owned(),
            severity: Severity::Watch,
            headline: "Cut plants are below the threshold; larvae are still small".to_owned(),
            because: vec![Reason {
                text: "Share of plants cut".to_owned(),
                observed: Some(1.2),
                limit: Some(3.0),
                unit: "%".to_owned(),
                observations: vec![key(13), key(14)],
            }],
            window: None,
            citations: vec![cite("An invented extension bulletin, table 2", 2021, "page")],
            cautions: vec![],
            next_check_days: Some(3),
        },
        Finding {
            pack: "corn-herbicide-windows 0.1.0".to_owned(),
            code: "past-last-stage".to_owned(),
            severity: Severity::Stop,
            headline: "Corn is past the last stage at which this active ingredient may stand on a label".to_owned(),
            because: vec![Reason {
                text: "Leaf collars of the field".to_owned(),
                observed: Some(7.0),
                limit: Some(6.0),
                unit: "collars".to_owned(),
                observations: vec![key(11)],
            }],
            window: Some(Window { state: WindowState::Closed, opens: None, closes: Some(date(2024, 6, 4)) }),
            citations: vec![cite("An invented herbicide guide, table 7", 2024, "memory")],
            cautions: vec![
                "The label of the product at hand is the law; read it before anything is done.".to_owned(),
                "Local codes and a licensed applicator decide.".to_owned(),
            ],
            next_check_days: None,
        },
    ]
}
