//! The published forms: what each puts for survival, loss and control.

use crate::catalogue::{Cell, Origin, Table};

/// A figure of a form, and the case it is printed for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The case, as it is asked for: `V10`, `newly-hatched`.
    pub case: &'static str,
    /// The figure.
    pub value: f64,
}

/// A published form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BorerForm {
    /// Its name: `pennsylvania`.
    pub name: &'static str,
    /// The generation of the borer.
    pub generation: u8,
    /// What is counted on each plant.
    pub counts: &'static str,
    /// Borers from one counted, by case.
    pub survival: &'static [Figure],
    /// The share of the yield lost to one borer in each plant, by case.
    pub loss: &'static [Figure],
    /// The share of the loss that a treatment prevents, by case.
    pub control: &'static [Figure],
    /// The borers beyond which each costs another share, and that share.
    pub beyond: Option<(f64, f64)>,
    /// The borers beyond which no further loss is reckoned.
    pub cap: Option<f64>,
    /// What the form leaves out, or where it stands alone.
    pub note: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Where it comes from.
    pub source: &'static str,
}

const fn figure(case: &'static str, value: f64) -> Figure {
    Figure { case, value }
}

const LARVAE: &str = "live larvae";
const MASSES: &str = "egg masses";
const AS_COUNTED: &[Figure] = &[figure("as-counted", 1.0)];
const BY_MASS: &[Figure] = &[figure("egg-mass", 4.5)];
const FROM_POLLEN: &[Figure] = &[figure("pollen-shed", 0.04), figure("kernels", 0.03)];
const EIGHTY: &[Figure] = &[figure("usual", 0.80)];

/// Every form, first generation before second.
pub const BORER_FORMS: [BorerForm; 8] = [
    BorerForm {
        name: "illinois-1999",
        generation: 1,
        counts: LARVAE,
        survival: &[figure("newly-hatched", 0.20), figure("second-instar", 0.50)],
        loss: &[figure("V10", 0.06), figure("V16", 0.05)],
        control: &[figure("directed", 0.80)],
        beyond: Some((3.0, 0.035)),
        cap: None,
        note: "each borer beyond three in a plant costs 0.035",
        origin: Origin::Page,
        source: "University of Illinois Extension, Pest Management and Crop Development Bulletin (1999), no. 11, figure 1",
    },
    BorerForm {
        name: "iowa-1999",
        generation: 1,
        counts: LARVAE,
        survival: AS_COUNTED,
        loss: &[figure("V10", 0.06), figure("V16", 0.05)],
        control: EIGHTY,
        beyond: None,
        cap: Some(6.0),
        note: "no survival in the form: enter the larvae that will tunnel; no further loss is reckoned beyond six",
        origin: Origin::Page,
        source: "Iowa State University Extension, Integrated Crop Management (21 June 1999), Scouting for European corn \
                 borers",
    },
    BorerForm {
        name: "iowa-2008",
        generation: 1,
        counts: LARVAE,
        survival: &[figure("second-instar", 0.40)],
        loss: &[figure("V10", 0.059)],
        control: EIGHTY,
        beyond: None,
        cap: None,
        note: "the page prints neither yield nor control: 150 bu/ac and 0.80 reproduce its level",
        origin: Origin::Derived,
        source: "J. Tollefson (2008), With the increased value of corn, what are the economic thresholds for first \
                 generation European corn borer?, Iowa State University Extension, 9 July 2008",
    },
    BorerForm {
        name: "north-dakota",
        generation: 1,
        counts: LARVAE,
        survival: AS_COUNTED,
        loss: &[figure("early-whorl", 0.05), figure("late-whorl", 0.04), figure("pre-tassel", 0.06)],
        control: &[figure("granule", 0.80), figure("spray", 0.70)],
        beyond: None,
        cap: None,
        note: "its losses do not fall with the stage, unlike the other forms; no survival in the form",
        origin: Origin::Page,
        source: "North Dakota State University Extension, ProCrop, European corn borer, worksheet for whorl-stage corn",
    },
    BorerForm {
        name: "pennsylvania",
        generation: 1,
        counts: LARVAE,
        survival: &[figure("newly-hatched", 0.20)],
        loss: &[figure("V10", 0.059), figure("V16", 0.05), figure("pollen-shed", 0.04)],
        control: &[figure("usual", 0.72)],
        beyond: None,
        cap: None,
        note: "survival from 0.01 to 0.50, control from 0.50 to 0.90",
        origin: Origin::Page,
        source: "Pennsylvania State University, Field crop IPM, Table 14, Cost:benefit analysis chart for first \
                 generation European corn borer",
    },
    BorerForm {
        name: "illinois-1997",
        generation: 2,
        counts: MASSES,
        survival: &[figure("egg-mass", 4.0)],
        loss: &[figure("pollen-shed", 0.04), figure("kernels", 0.03)],
        control: &[figure("usual", 0.75)],
        beyond: None,
        cap: None,
        note: "survival of 20 %; counts a few days apart are added; gains fall quickly after blister",
        origin: Origin::Page,
        source: "University of Illinois Extension, Pest Management and Crop Development Bulletin (8 August 1997), no. \
                 20, figure 1",
    },
    BorerForm {
        name: "iowa-1996",
        generation: 2,
        counts: MASSES,
        survival: BY_MASS,
        loss: FROM_POLLEN,
        control: EIGHTY,
        beyond: None,
        cap: None,
        note: "counts taken 5 to 7 days later are added",
        origin: Origin::Page,
        source: "Iowa State University Extension, Integrated Crop Management IC-476(21), 5 August 1996, page 147",
    },
    BorerForm {
        name: "north-dakota-tassel",
        generation: 2,
        counts: MASSES,
        survival: BY_MASS,
        loss: FROM_POLLEN,
        control: EIGHTY,
        beyond: None,
        cap: None,
        note: "counts taken 5 to 7 days later are added",
        origin: Origin::Page,
        source: "North Dakota State University Extension, ProCrop, European corn borer, worksheet for tassel stage or \
                 older",
    },
];

/// The names of the forms, in the same order.
pub(crate) const FORM_NAMES: &[&str] = &[
    "illinois-1999",
    "iowa-1999",
    "iowa-2008",
    "north-dakota",
    "pennsylvania",
    "illinois-1997",
    "iowa-1996",
    "north-dakota-tassel",
];

/// Returns the form of that name.
pub(crate) fn form(name: &str) -> Option<&'static BorerForm> {
    BORER_FORMS.iter().find(|form| form.name == name)
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "corn-borer-forms",
        "European corn borer in corn without Bt: what the published worksheets put for survival, loss and control",
        "One formula: counted × survival × loss × yield × price × control, less the cost. The forms are contested; the \
         caller chooses one and may put figures of the field instead.",
        ["form", "generation", "counted", "survival", "loss to one borer", "control", "beyond", "cap", "note"],
    );
    let list = |figures: &[Figure]| {
        figures.iter().map(|figure| format!("{} {}", figure.value, figure.case)).collect::<Vec<_>>().join("; ")
    };
    vec![BORER_FORMS.iter().fold(table, |table, form| {
        let cells: [Cell; 9] = [
            form.name.into(),
            f64::from(form.generation).into(),
            form.counts.into(),
            list(form.survival).into(),
            list(form.loss).into(),
            list(form.control).into(),
            form.beyond.map_or(Cell::Blank, |(borers, loss)| format!("{loss} each beyond {borers}").into()),
            form.cap.into(),
            form.note.into(),
        ];
        table.row(cells, form.origin, form.source)
    })]
}
