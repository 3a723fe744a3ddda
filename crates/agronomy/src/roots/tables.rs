//! The tables of roots as people look at them.

use super::growth::{RootAngle, Sidewall};
use super::node_injury::NodeLossStudy;
use crate::catalogue::{Origin, Table};

const OLESON: &str = "J. D. Oleson, Y.-L. Park, T. M. Nowatzki, J. J. Tollefson (2005), Journal of Economic Entomology \
                      98(1):1-8, as printed by Iowa State University";
const HILLS: &str = "T. M. Hills and D. C. Peters (1971), Journal of Economic Entomology 64:764-765, as printed by \
                     Iowa State University";
const NIELSEN: &str = "R. L. Nielsen (2022), Rootless or floppy corn syndrome, Purdue University";
const PRACTICE: &str = "common practice, no source";

pub(crate) fn tables() -> Vec<Table> {
    vec![scale(), loss(), angles(), sidewalls(), rootless()]
}

fn scale() -> Table {
    let (page, derived) = (Origin::Page, Origin::Derived);
    Table::new(
        "node-injury-scale",
        "Rootworm injury: the node-injury scale and the old 1-6 scale",
        "A node is eaten when its roots are gone to within about 1½ in of the stalk (some pages print 2 in). Parts of \
         a node are decimals. Conversions are ranges.",
        ["scale", "rating", "what is seen", "on the other scale"],
    )
    .row(["node-injury".into(), 0.0.into(), "no feeding".into(), "1 to 2".into()], page, OLESON)
    .row(
        [
            "node-injury".into(),
            0.25.into(),
            "a quarter of a node; well protected up to here".into(),
            "2 to 4, about 2.5".into(),
        ],
        page,
        OLESON,
    )
    .row(["node-injury".into(), 1.0.into(), "one node, or as many roots".into(), "4".into()], page, OLESON)
    .row(["node-injury".into(), 2.0.into(), "two nodes".into(), "5".into()], page, OLESON)
    .row(["node-injury".into(), 3.0.into(), "three nodes or more".into(), "6".into()], page, OLESON)
    .row(["1-6".into(), 1.0.into(), "no injury, or a few scars".into(), "0".into()], derived, HILLS)
    .row(["1-6".into(), 2.0.into(), "scars, no root eaten to 1½ in".into(), "0".into()], derived, HILLS)
    .row(["1-6".into(), 3.0.into(), "several roots eaten, less than a node".into(), "0 to 1".into()], derived, HILLS)
    .row(["1-6".into(), 4.0.into(), "one node".into(), "1".into()], derived, HILLS)
    .row(["1-6".into(), 5.0.into(), "two nodes".into(), "2".into()], derived, HILLS)
    .row(["1-6".into(), 6.0.into(), "three nodes or more".into(), "3".into()], derived, HILLS)
}

fn loss() -> Table {
    let table = Table::new(
        "node-injury-loss",
        "Yield loss of corn for each node of roots eaten",
        "Contested: studies are listed, none averaged; single fields lie far from either.",
        ["study", "loss a node, %"],
    );
    NodeLossStudy::ALL.iter().fold(table, |table, study| {
        let (loss, origin, source) = study.a_node();
        table.row([study.word().into(), (loss * 100.0).into()], origin, source)
    })
}

fn angles() -> Table {
    let table = Table::new(
        "root-angle",
        "Angle of nodal roots from the horizontal, dug at V4 to V6",
        "For each whorl, with the number of whorls and their mean length beside it.",
        ["class", "from, °", "to, °"],
    );
    RootAngle::ALL.iter().fold(table, |table, class| {
        let (from, to) = class.bounds();
        table.row([class.word().into(), from.into(), to.into()], Origin::Practice, PRACTICE)
    })
}

fn sidewalls() -> Table {
    let table = Table::new(
        "sidewall-compaction",
        "Signs of sidewall compaction in corn, scored",
        "Also looked for: open slot, plants that wilt early, few roots between the rows. The signs are published \
         (Purdue University, 2022; Kansas State University), the score is practice.",
        ["score", "sign"],
    );
    Sidewall::ALL.iter().fold(table, |table, sign| {
        table.row([f64::from(sign.score()).into(), sign.word().into()], Origin::Practice, PRACTICE)
    })
}

fn rootless() -> Table {
    Table::new("root-limits", "Limits of corn roots: where they start, what stops them", "", ["what", "value"])
        .row(["depth of the crown, over most seed depths".into(), "¾ in".into()], Origin::Page, NIELSEN)
        .row(["nodal roots first seen".into(), "V1 to V2".into()], Origin::Page, NIELSEN)
        .row(["risk of rootless corn: planted".into(), "late May or later".into()], Origin::Page, NIELSEN)
        .row(["risk of rootless corn: seed".into(), "shallow".into()], Origin::Page, NIELSEN)
        .row(["risk of rootless corn: surface soil".into(), "dry".into()], Origin::Page, NIELSEN)
        .row(["risk of rootless corn: several days in a row".into(), "upper 90s °F".into()], Origin::Page, NIELSEN)
        .row(["roots slow in surface soil above".into(), "86 °F".into()], Origin::Memory, "from memory, to be verified")
        .row(
            ["roots stop in surface soil of".into(), "mid-90s °F".into()],
            Origin::Memory,
            "from memory, to be verified",
        )
        .row(
            ["moist soil that limits roots: penetrometer over".into(), "300 psi (2 MPa)".into()],
            Origin::Memory,
            "from memory, to be verified",
        )
}
