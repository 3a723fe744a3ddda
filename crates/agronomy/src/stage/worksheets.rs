//! Growth stages as worksheets.

use super::{
    CornStage, LeafCount, SoybeanStage, bbch, collars_from, field_stage, soybean_bbch, soybean_field_stage,
    stage_by_split_stalk,
};
use crate::catalogue::{Answer, Input, Takes, Worksheet};
use crate::error::{Error, within};

pub(crate) const WORKSHEETS: &[Worksheet] = &[CORN_STAGE, CORN_BBCH, LEAF_COUNT, SPLIT_STALK, SOYBEAN_STAGE];

/// Reads a count of leaves or collars.
fn whole(what: &'static str, number: f64) -> Result<u8, Error> {
    let number = within(what, number, 0.0, 30.0, "")?;
    if number.fract().abs() > 1e-9 {
        return Err(Error::Thresholds { expected: "a whole number of leaves", came: number.to_string() });
    }
    // Within 0 and 30 and whole.
    Ok(number.round() as u8)
}

const CORN_STAGE: Worksheet = Worksheet {
    name: "corn-stage",
    title: "Stage of a corn field from the collars of its plants",
    inputs: &[
        Input::required("collars", Takes::Number("collars"), "Visible collars of each plant, whole numbers").many()
    ],
    source: "P. Thomison, Ohio State University AGF-127; R. L. Nielsen (2019), Determining corn leaf stages, Purdue University; \
             BBCH: U. Meier (ed.) (2001), BBCH monograph, 2nd edition",
    example: "--collars '2 3 3 3 3 4 4 4 4 5'",
    work: |given| {
        let mut collars = Vec::new();
        for number in given.numbers("collars") {
            collars.push(whole("a number of leaf collars", *number)?);
        }
        let found = field_stage(&collars)?;
        let mut answer = Answer::default()
            .step(format!(
                "{:.0} % of {} plants are at or past {}",
                found.share_at_or_past * 100.0,
                found.plants,
                found.stage
            ))
            .words("stage of the field", found.stage.to_string())
            .words("from the least to the most developed plant", format!("{} to {}", found.least, found.greatest))
            .number("one collar behind or more", found.share_one_behind * 100.0, 1, "%")
            .number("two collars behind or more", found.share_two_behind * 100.0, 1, "%")
            .words("BBCH", bbch(found.stage).to_string());
        if found.plants < 10 {
            answer = answer.remark("Fewer than 10 plants: look at 10 to 20 in a row (common practice, no source).");
        }
        Ok(answer.remark("Count from the leaf with the rounded tip. Where it is gone: `ligule calc split-stalk`."))
    },
};

const CORN_BBCH: Worksheet = Worksheet {
    name: "corn-bbch",
    title: "BBCH codes that a collar stage of corn may mean",
    inputs: &[Input::required("stage", Takes::Text, "Stage: V4, VT, R1")],
    source: "U. Meier (ed.) (2001), BBCH monograph, 2nd edition, maize; leaf tips and precedence from memory, to be verified",
    example: "--stage V4",
    work: |given| {
        let stage: CornStage = given.text("stage").parse()?;
        Ok(Answer::default()
            .step(match (stage.collars(), stage.reproductive_number()) {
                (Some(0), _) => format!("{stage}: at emergence 09, or 10 once the first leaf is through"),
                (Some(_), _) => format!("{stage}: BBCH may count a leaf when its ligule or the tip of the next shows"),
                (None, None) => format!("{stage}: by how far the tassel is out"),
                (None, Some(1)) => format!("{stage}: by pollen and silks"),
                (None, Some(_)) => format!("{stage}: by the ripeness of the kernels"),
            })
            .words("BBCH", bbch(stage).to_string())
            .remark("Keep the scale in which a stage was observed; convert only with the range."))
    },
};

const LEAF_COUNT: Worksheet = Worksheet {
    name: "leaf-count",
    title: "Collar stages that leaves counted another way may mean",
    inputs: &[
        Input::required("count", Takes::Word(LeafCount::WORDS), "How the leaves were counted"),
        Input::required("leaves", Takes::Number("leaves"), "Leaves counted, the rounded one first"),
    ],
    source: "P. Thomison, Ohio State University AGF-127; leaf tips and leaf-over from memory, to be verified",
    example: "--count horizontal --leaves 8",
    work: |given| {
        let count: LeafCount = given.text("count").parse()?;
        let leaves = whole("a number of leaves", given.number("leaves"))?;
        let range = collars_from(count, leaves)?;
        let answer = Answer::default()
            .step(format!("{leaves} leaves by the {} count are {range}", count.word()))
            .words("collar stage", range.to_string())
            .remark("Published offsets differ by a leaf. Where a label or table hangs on it, count collars.");
        Ok(if count == LeafCount::Horizontal {
            answer
        } else {
            answer.remark("This offset is from memory, to be verified.")
        })
    },
};

const SPLIT_STALK: Worksheet = Worksheet {
    name: "split-stalk",
    title: "Stage of corn whose lower leaves are gone, from the split stalk",
    inputs: &[Input::required("collars", Takes::Number("collars"), "Collars from that of leaf 5 upwards, with it")],
    source: "University of Tennessee (2025), Growth staging corn mid-season; Purdue University, Corn growth stages; D. R. Hicks, \
             R. H. Peterson (1978), Agronomy Journal 70:485-488",
    example: "--collars 5",
    work: |given| {
        let collars = whole("collars from that of leaf 5 upwards", given.number("collars"))?;
        let found = stage_by_split_stalk(collars)?;
        Ok(Answer::default()
            .step("the node above the first stretched internode bears leaf 5")
            .step(format!("4 + {collars} = {}", found.stage))
            .words("stage", found.stage.to_string())
            .words("may be", found.range.to_string())
            .remark("That internode is about ½ to ¾ in long (from memory, to be verified).")
            .remark("Early planted corn had 0.5 to 0.8 more unstretched internodes in 2 of 3 years: the rule may be off by one."))
    },
};

const SOYBEAN_STAGE: Worksheet = Worksheet {
    name: "soybean-stage",
    title: "Stage of a soybean field from the stages of its plants",
    inputs: &[Input::required("stages", Takes::Text, "Stage of each plant: V2 V3 V3, or R1 R2").many()],
    source: "W. R. Fehr and C. E. Caviness (1977), Iowa State University Special Report 80; BBCH: P. Munger et al. (1997), from \
             memory, to be verified",
    example: "--stages 'V2 V3 V3 V2 V3'",
    work: |given| {
        let mut stages: Vec<SoybeanStage> = Vec::new();
        for text in given.texts("stages") {
            for word in text.split_whitespace() {
                stages.push(word.parse()?);
            }
        }
        let stage = soybean_field_stage(&stages)?;
        Ok(Answer::default()
            .step(format!("half of {} plants or more are at or past {stage}", stages.len()))
            .words("stage of the field", stage.to_string())
            .words("BBCH", soybean_bbch(stage).to_string())
            .remark("Some states count unrolled trifoliolates instead of nodes: with both rules applied, the number is the same.")
            .remark("BBCH codes of soybean are from memory, to be verified."))
    },
};
