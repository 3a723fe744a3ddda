//! Growth stages and their codes.

use ligule_agronomy::stage::{LeafCount, bbch, collars_from, soybean_bbch, soybean_field_stage, stage_by_split_stalk};

use crate::row::Answer::{self, Text};
use crate::row::Row;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    let leaves = |name| u8::try_from(row.whole(name)).expect("a small number");
    let counted = || {
        let count = row.text("count").parse().expect("a way of counting");
        collars_from(count, leaves("leaves")).expect("inside")
    };
    let yes = |holds: bool| Text(if holds { "yes" } else { "no" }.to_owned());
    Some(match row.check.as_str() {
        "bbch" => Text(bbch(row.text("stage").parse().expect("a stage")).to_string()),
        "soybean bbch" => Text(soybean_bbch(row.text("stage").parse().expect("a stage")).to_string()),
        "leaf count" => Text(counted().to_string()),
        "leaf count admits" => yes(counted().admits(row.text("stage").parse().expect("a stage"))),
        "leaf counts agree" => {
            let over = collars_from(LeafCount::LeafOver, leaves("over")).expect("inside");
            let tips = collars_from(LeafCount::LeafTip, leaves("tips")).expect("inside");
            yes(over.least <= tips.most && tips.least <= over.most)
        }
        "split stalk" => {
            let found = stage_by_split_stalk(leaves("collars")).expect("inside");
            Text(format!("{} ({})", found.stage, found.range))
        }
        "soybean field stage" => {
            let stages: Vec<_> =
                row.list("stages").iter().map(|s| s.as_str().expect("a text").parse().expect("a stage")).collect();
            Text(soybean_field_stage(&stages).expect("stages of one scale").to_string())
        }
        _ => return None,
    })
}
