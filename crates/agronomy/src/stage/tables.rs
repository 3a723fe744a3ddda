//! The tables of growth stages as people look at them.

use super::counts::TIPS;
use super::{CornStage, SoybeanStage, bbch, soybean_bbch};
use crate::catalogue::{Origin, Table};

const THOMISON: &str = "P. Thomison, Identifying vegetative growth stages in corn, Ohio State University AGF-127";
const NIELSEN: &str = "R. L. Nielsen (2019), Determining corn leaf stages, Purdue University";
const FEHR: &str = "W. R. Fehr and C. E. Caviness (1977), Stages of soybean development, Iowa State University Special Report 80, \
                    as printed by University of Minnesota";
const MEMORY: &str = "from memory, to be verified, after L. J. Abendroth et al. (2011), Corn growth and development, Iowa State \
                      University PMR 1009";

pub(crate) fn tables() -> Vec<Table> {
    vec![corn(), soybean(), codes(), soybean_codes(), counts()]
}

fn corn() -> Table {
    let (page, memory) = (Origin::Page, Origin::Memory);
    let yield_method = "R. L. Nielsen (2021), Estimating corn grain yield prior to harvest, Purdue University";
    let maturity = "R. L. Nielsen (2012), Interpreting corn hybrid maturity ratings, Purdue University: grain of 25 to 35 % \
                    moisture; days from memory, to be verified";
    Table::new(
        "corn-stages",
        "Growth stages of corn by leaf collars",
        "A field is at a stage when half of its plants or more are at or past it. The leaf with the rounded tip is the first.",
        ["stage", "sign", "days after silk"],
    )
    .row(["VE".into(), "plant through the surface".into(), "".into()], memory, "from memory, to be verified")
    .row(["Vn".into(), "n leaves with visible collars; whorl leaves do not count".into(), "".into()], page, NIELSEN)
    .row(["V4".into(), "parts of leaves 5 and 6 show".into(), "".into()], page, THOMISON)
    .row(["VT".into(), "last branch of the tassel out, no silk".into(), "".into()], memory, MEMORY)
    .row(["R1".into(), "silk visible".into(), "0".into()], memory, MEMORY)
    .row(["R2".into(), "blister, clear fluid".into(), "10 to 14".into()], memory, MEMORY)
    .row(["R3".into(), "milk, white fluid".into(), "18 to 22".into()], page, yield_method)
    .row(["R4".into(), "dough".into(), "24 to 28".into()], memory, MEMORY)
    .row(["R5".into(), "most kernels dented".into(), "35 to 42".into()], memory, MEMORY)
    .row(["R6".into(), "black layer".into(), "55 to 65".into()], memory, maturity)
}

fn soybean() -> Table {
    let rows = [
        ("VE", "cotyledons above the soil"),
        ("VC", "edges of the unifoliolate leaves no longer touch"),
        ("Vn", "n nodes of the main stem with fully developed leaves, the unifoliolate node first"),
        ("R1", "one open flower at any node of the main stem"),
        ("R2", "open flower at one of the two uppermost nodes with a fully developed leaf"),
        ("R3", "pod of 3/16 in (5 mm) at one of the four uppermost nodes"),
        ("R4", "pod of 3/4 in (2 cm) there"),
        ("R5", "seed of 1/8 in (3 mm) there"),
        ("R6", "green seed fills the pod there"),
        ("R7", "one pod of mature colour"),
        ("R8", "95 % of pods of mature colour"),
    ];
    let table = Table::new(
        "soybean-stages",
        "Growth stages of soybean",
        "The cotyledon node does not count; a leaf is fully developed when the leaf above has unrolled its leaflets. Half of \
         the plants decide.",
        ["stage", "sign"],
    );
    rows.into_iter().fold(table, |table, (stage, sign)| table.row([stage.into(), sign.into()], Origin::Page, FEHR))
}

fn codes() -> Table {
    let source = "U. Meier (ed.) (2001), BBCH monograph, 2nd edition, maize; leaf tips and precedence from memory, to be verified";
    let stages = (0..=9).map(|n| CornStage::leaf(n).expect("up to 30 collars"));
    let late = (1..=6).map(|n| CornStage::reproductive(n).expect("R1 to R6"));
    let table = Table::new(
        "corn-bbch",
        "BBCH codes that a collar stage of corn may mean",
        "Always a range: BBCH may count a leaf when the tip of the next shows. Stem codes 30 to 39 take over from 1x.",
        ["stage", "BBCH"],
    );
    stages.chain([CornStage::VT]).chain(late).fold(table, |table, stage| {
        let name = if stage.collars() == Some(9) { "V9 and later".to_owned() } else { stage.to_string() };
        table.row([name.into(), bbch(stage).to_string().into()], Origin::Derived, source)
    })
}

fn soybean_codes() -> Table {
    let source =
        "P. Munger et al. (1997), Journal of Agronomy and Crop Science 179:209-217; from memory, to be verified";
    let first = [SoybeanStage::Emergence, SoybeanStage::Cotyledon];
    let stages =
        first.into_iter().chain((1..=8).map(SoybeanStage::Node)).chain((1..=8).map(SoybeanStage::Reproductive));
    let table = Table::new("soybean-bbch", "BBCH codes that a stage of soybean may mean", "", ["stage", "BBCH"]);
    stages.fold(table, |table, stage| {
        table.row([stage.to_string().into(), soybean_bbch(stage).to_string().into()], Origin::Memory, source)
    })
}

fn counts() -> Table {
    let kentucky = "C. Lee (2007), Corn hail damage, University of Kentucky";
    let delaware = "Iowa State University, quoted in University of Delaware, Weekly Crop Update";
    let nebraska = "University of Nebraska (2014), Assessing hail damage to corn, soybeans";
    let table = Table::new(
        "leaf-counts",
        "How many more leaves other ways of counting find than collars",
        "Contested; from about the 14th leaf on the published offsets do not agree. Plant height tells no stage.",
        ["count", "collar stage", "more than collars"],
    )
    .row(["horizontal".into(), "any".into(), "1 to 2".into()], Origin::Page, THOMISON)
    .row(["horizontal".into(), "V6".into(), "2 (8-leaf)".into()], Origin::Page, kentucky)
    .row(["horizontal".into(), "V6".into(), "1 (7-leaf)".into()], Origin::Page, delaware)
    .row(["horizontal".into(), "V5".into(), "1 to 2 (6- to 7-leaf)".into()], Origin::Page, nebraska)
    .row(["leaf-over".into(), "any".into(), "0 to 2".into()], Origin::Memory, "from memory, to be verified");
    TIPS.iter().fold(table, |table, (from, to, least, most)| {
        let cells = ["leaf-tip".into(), format!("V{from} to V{to}").into(), format!("{least} to {most}").into()];
        table.row(cells, Origin::Memory, "from memory, to be verified")
    })
}
