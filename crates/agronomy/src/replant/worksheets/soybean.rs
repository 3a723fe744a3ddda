//! Soybean replanting by published thresholds.

use super::{CONSENT, LATEST_DAY, NITROGEN, PLANT_BACK, SEED, add_questions, answers, day};
use crate::catalogue::{Answer, Input, Takes, Worksheet, with_marks};
use crate::replant::{soybean_date_yield, soybean_decisions, soybean_stand_yields};

pub(super) const REPLANT: Worksheet = Worksheet {
    name: "soybean-replant",
    title: "What is published of a soybean stand: its yield, what to do with it, the yield of a later planting",
    inputs: &[
        Input::required("stand", Takes::Quantity("1/[acr_us]"), "Living plants, uniform"),
        Input::required("replant-date", Takes::Day, "When it would be replanted"),
        PLANT_BACK,
        NITROGEN,
        CONSENT,
        SEED,
        LATEST_DAY,
    ],
    source: "J. Coulter, S. Naeve (2011), University of Minnesota; Penn State Extension (2012, 2016), Soybean \
             replanting decisions; S. Conley (2019), and A. P. Gaspar, S. P. Conley, J. M. Gaska (2015), University \
             of Wisconsin; Iowa State University (1999), Soybean replant issues; University of Illinois (2009), the \
             Bulletin 11",
    example: "--stand 70000 --replant-date 2026-06-05",
    work: |given| {
        let (stand, replanting) = (given.per_acre("stand"), day(given, "replant-date", "When it would be replanted")?);
        let mut answer = Answer::default();
        match soybean_stand_yields(stand) {
            Ok(statements) => {
                let mut ends = (f64::INFINITY, 0.0_f64);
                for one in &statements {
                    ends = (ends.0.min(one.share.0 * 100.0), ends.1.max(one.share.1 * 100.0));
                    answer = answer.step(format!(
                        "{} to {} plants/ac: {:.1} to {:.1} % ({}) {}",
                        with_marks(one.stand.0.per_acre(), 0),
                        with_marks(one.stand.1.per_acre(), 0),
                        one.share.0 * 100.0,
                        one.share.1 * 100.0,
                        one.source,
                        one.note
                    ));
                }
                answer = answer.range("yield of the stand, by the nearest statements", ends, 0, "%");
            }
            Err(reason) => answer = answer.words("yield of the stand", reason.to_string()),
        }
        let late = match soybean_date_yield(replanting) {
            Ok(share) => {
                answer = answer.step(format!("a full stand planted on {replanting}: {:.1} %", share * 100.0));
                answer.number("yield of a full stand planted then", share * 100.0, 0, "%")
            }
            Err(reason) => answer.words("yield of a full stand planted then", reason.to_string()),
        };
        let answer = soybean_decisions(stand)?
            .iter()
            .fold(late, |answer, one| answer.words("says", format!("{} ({})", one.says, one.source)));
        let answer = answer
            .remark("Publications contradict each other on filling in; every version is shown, none is chosen.")
            .remark(
                "Gaps over 2 ft are not made up: 70,000 plants with 40 % of the field in gaps yielded 83 % \
                     (Penn State).",
            );
        Ok(add_questions(answer, &answers(given)?, replanting))
    },
};
