//! Sequential plans.

use ligule_agronomy::thresholds::{Stop, WaldPlan, aphid_plan, stink_bug_plan};

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

pub(super) fn answer(row: &Row) -> Option<Answer> {
    Some(match row.check.as_str() {
        "aphid plan" => stop(aphid_plan(row.whole("positive"), row.whole("plants")).expect("in the plan")),
        "stink bug plan" => {
            let stage = row.text("stage").parse().expect("a stage");
            stop(stink_bug_plan(stage, row.whole("bugs"), row.whole("plants")).expect("in the plan"))
        }
        "wald" => {
            let [safe, damaging, alarm, missed] =
                ["safe", "damaging", "false_alarm", "missed"].map(|name| row.number(name));
            let plan = WaldPlan::new(safe, damaging, alarm, missed).expect("valid shares");
            let limits = || plan.limits(row.whole("plants")).expect("valid plants");
            match row.text("what") {
                "h" => Number(plan.discrimination()),
                "slope" => Number(plan.slope()),
                "upper" => Number(plan.upper()),
                "lower" => Number(plan.lower()),
                "safe" => limits().safe_at_most.map_or(Text("none yet".to_owned()), |n| Number(n as f64)),
                "damaging" => limits().damaging_at_least.map_or(Text("none yet".to_owned()), |n| Number(n as f64)),
                "judge" => stop(plan.judge(row.whole("found"), row.whole("plants")).expect("valid counts")),
                other => panic!("`{}` asks for an unknown `{other}`", row.name),
            }
        }
        _ => return None,
    })
}

fn stop(stop: Stop) -> Answer {
    let word = match stop {
        Stop::Below => "below",
        Stop::More => "more",
        Stop::Above => "above",
        Stop::Revisit => "revisit",
    };
    Text(word.to_owned())
}
