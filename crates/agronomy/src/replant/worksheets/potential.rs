//! Yield potential, what comes off it, and the latest safe planting.

use ligule_units::DegreeDays;

use super::day;
use crate::catalogue::{Answer, Input, Takes, Worksheet, with_marks};
use crate::replant::{YieldMatrix, gap_loss, latest_safe_planting, uneven_stand, yield_potential, yield_potentials};

pub(super) const POTENTIAL: Worksheet = Worksheet {
    name: "yield-potential",
    title: "Yield of corn by planting date and stand, from a published table",
    inputs: &[
        Input::required("table", Takes::Word(YieldMatrix::WORDS), "Table of the region"),
        Input::required("planted", Takes::Day, "Planting date; the month and the day count"),
        Input::required("stand", Takes::Quantity("1/[acr_us]"), "Living plants; a doubtful plant counts half"),
    ],
    source: "E. D. Nafziger (1994), Journal of Production Agriculture 7:59-62, as printed by R. L. Nielsen (2006, \
             2012); Iowa State University Extension, PM 1885 (2001) and Stand evaluations (2010); J. Lauer (2003), \
             Evaluation of corn stands, Wisconsin Crop Manager 10(7)",
    example: "--table illinois --planted 2026-04-27 --stand 21000",
    work: |given| {
        let (matrix, planted) = (given.text("table").parse::<YieldMatrix>()?, day(given, "planted", "Planting date")?);
        let stand = given.per_acre("stand");
        let share = yield_potential(matrix, planted, stand)?;
        let mut answer = Answer::default().number("yield potential", share * 100.0, 1, "%");
        for (other, said) in yield_potentials(planted, stand) {
            answer = match said {
                Ok(share) => answer.step(format!("{}: {:.1} %", other.word(), share * 100.0)),
                Err(reason) => answer.step(format!("{}: {reason}", other.word())),
            };
        }
        Ok(answer.remark(matrix.holds()).remark(format!("Table: {}.", matrix.source())))
    },
};

pub(super) const UNEVEN: Worksheet = Worksheet {
    name: "uneven-stand",
    title: "Yield of a stand with gaps and late plants, from that of a uniform one",
    inputs: &[
        Input::required("potential", Takes::Quantity("%"), "Yield of the stand if it were uniform"),
        Input::usual(
            "gaps",
            Takes::Word(crate::replant::GapPattern::WORDS),
            "none",
            "Gaps: several of 1 to 3 ft, or numerous of 4 to 6 ft",
        ),
        Input::usual("late", Takes::Quantity("%"), "0%", "Yield that plants left behind cost"),
        Input::usual("leaves", Takes::Quantity("%"), "0%", "Yield that lost leaves cost, from about V7 on"),
    ],
    source: "G. Benson (1996), 1996 corn replant decisions, Iowa State University; Iowa State University Extension \
             (2004), Corn replant decisions; that losses multiply: common practice, no source",
    example: "--potential 88% --gaps large",
    work: |given| {
        let (potential, late) = (given.number("potential") / 100.0, given.number("late") / 100.0);
        let leaves = given.number("leaves") / 100.0;
        let gaps = gap_loss(given.text("gaps").parse()?);
        let most = uneven_stand(potential, &[gaps.0, late, leaves])?;
        let least = uneven_stand(potential, &[gaps.1, late, leaves])?;
        let line = |gap: f64, share: f64| {
            format!(
                "{:.1} % × (1 − {gap:.3}) × (1 − {late:.3}) × (1 − {leaves:.3}) = {:.1} %",
                potential * 100.0,
                share * 100.0
            )
        };
        let answer = Answer::default().step(line(gaps.0, most));
        let answer = if gaps.0 < gaps.1 {
            answer.step(line(gaps.1, least)).range("yield potential", (least * 100.0, most * 100.0), 1, "%")
        } else {
            answer.number("yield potential", most * 100.0, 1, "%")
        };
        Ok(answer.remark("Gaps differ between sources (4 to 6 %, 5 to 6 %); that losses multiply is common practice."))
    },
};

pub(super) const LATEST: Worksheet = Worksheet {
    name: "latest-planting",
    title: "Latest day on which a corn hybrid can be planted and ripen before frost",
    inputs: &[
        Input::required(
            "rated",
            Takes::Quantity("5.K.d/9"),
            "Degree days from planting to black layer that the \
                                                              hybrid is rated for",
        ),
        Input::required(
            "normals",
            Takes::Number("°F·d"),
            "Mean degree days of each day from 1 May to the day before frost, blanks between; one number stands for \
             every day",
        )
        .many(),
        Input::optional("days", Takes::Number("d"), "Days from 1 May to frost, where `normals` is one number"),
    ],
    source: "R. L. Nielsen, Hybrid maturity decisions for delayed planting, Purdue University (6.8 degree days \
             fewer for each day after 1 May); normals from your station",
    example: "--rated '2700 GDD' --normals 18.5 --days 150",
    work: |given| {
        let rated = given.fahrenheit_days("rated");
        let mut normals: Vec<_> = given.numbers("normals").iter().copied().map(DegreeDays::from_fahrenheit).collect();
        if let (Some(days), [one]) = (given.maybe("days"), normals.as_slice()) {
            let days = crate::error::within("days to frost", days, 1.0, 245.0, "")?;
            normals = vec![*one; days as usize];
        }
        let latest = latest_safe_planting(rated, &normals)?;
        let sum: DegreeDays = normals.iter().copied().sum();
        let answer = Answer::default()
            .step(format!("{} days from 1 May to frost bring {} °F·d", normals.len(), with_marks(sum.fahrenheit(), 0)))
            .step(format!(
                "planted d days after 1 May: needs {} − 6.8 d, finds the sum from day d on",
                with_marks(rated.fahrenheit(), 0)
            ));
        let answer = match latest {
            Some(45) => answer.words("latest planting", "45 days after 1 May or later; the source says nothing beyond"),
            Some(days) => answer.number("latest planting, days after 1 May", days.into(), 0, "d"),
            None => answer.words("latest planting", "none: not enough degree days even from 1 May on"),
        };
        Ok(answer
            .remark(
                "Half of the years are cooler than normals, and half have frost before its mean date: leave a \
                     margin.",
            )
            .remark("Eastern and central Corn Belt (Indiana, Ohio); not for plantings before 1 May."))
    },
};
