//! What is said beside every answer that bears on a treatment, in one place.
//!
//! Nothing here permits anything. The numbers of this crate are published reference numbers; whether, with what and
//! by whom a field may be treated is decided by the label, by local codes and by licensed people.

use crate::catalogue::{Answer, Origin, Table};

/// A caution, and how we came by it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Caution {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// What the reader is told.
    pub text: &'static str,
    /// How it came to us.
    pub origin: Origin,
    /// Where it comes from.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice of advisers, no source";

/// The label decides.
pub const LABEL: Caution = Caution {
    about: "label",
    text: "The label on the container, for this crop and this state or province, is the law. This compares your notes \
           with published reference numbers, which may be out of date and are no label; local codes and licensed \
           practice decide.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Who may apply.
pub const LICENCE: Caution = Caution {
    about: "licence",
    text: "Restricted-use products need a certified applicator or direct supervision; what may be bought and applied \
           is set by state or province.",
    origin: Origin::Memory,
    source: "United States federal and state rules, Ontario classes of pesticides",
};

/// Re-entry after a treatment.
pub const REENTRY: Caution = Caution {
    about: "re-entry",
    text: "Before walking a field ask: was it treated, with what, when? Stay out until the re-entry interval on the \
           label has ended; of a mix the longest counts.",
    origin: Origin::Page,
    source: "United States Code of Federal Regulations, title 40, part 170, worker protection standard",
};

/// Protective gear.
pub const PROTECTION: Caution = Caution {
    about: "protective gear",
    text: "Wear at least what the label asks for.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Intervals before harvest.
pub const HARVEST: Caution = Caution {
    about: "harvest, grazing, forage",
    text: "Keep the label's intervals before harvest, grazing and cutting for forage. Grain and forage differ: a later \
           decision for drought silage changes the answer.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Drift and neighbours.
pub const DRIFT: Caution = Caution {
    about: "drift and neighbours",
    text: "Mind the wind now, sensitive crops, gardens, bees, dwellings, schools and organic ground; registries of \
           sensitive sites exist.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Water.
pub const WATER: Caution = Caution {
    about: "water",
    text: "Keep the setbacks from water, wells and tile inlets, and mind slopes and karst; a state or province may be \
           stricter than the label.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Pollinators.
pub const POLLINATORS: Caution = Caution {
    about: "pollinators",
    text: "No insecticide on flowering crops or weeds while bees forage; talk to beekeepers nearby.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Resistance.
pub const RESISTANCE: Caution = Caution {
    about: "resistance",
    text: "Rotate modes of action (HRAC and IRAC groups), do not repeat one, and note survivors.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Beneficial insects.
pub const BENEFICIALS: Caution = Caution {
    about: "beneficial insects",
    text: "Some insecticides set spider mites and aphids free of their enemies.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Poisoning.
pub const EMERGENCY: Caution = Caution {
    about: "emergency",
    text: "Poisoning: if someone does not breathe or is unconscious call 911; otherwise the poison line of your \
           country (United States 1-800-222-1222, not verified since it was copied from a label). Take the label to \
           the doctor.",
    origin: Origin::Page,
    source: "a pesticide label, its date not recorded: verify the number before relying on it",
};

/// How sure a count is.
pub const UNCERTAINTY: Caution = Caution {
    about: "uncertainty",
    text: "A count is a sample. Where the interval holds the threshold, look again in 2 to 3 days.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Where the numbers hold.
pub const SCOPE: Caution = Caution {
    about: "scope",
    text: "Written for field corn and soybean of the Corn Belt and Ontario; not for sweet corn, popcorn, seed corn or \
           organic fields.",
    origin: Origin::Practice,
    source: PRACTICE,
};

/// Every caution, in the order in which it is shown.
pub const CAUTIONS: [Caution; 13] = [
    LABEL,
    LICENCE,
    REENTRY,
    PROTECTION,
    HARVEST,
    DRIFT,
    WATER,
    POLLINATORS,
    RESISTANCE,
    BENEFICIALS,
    EMERGENCY,
    UNCERTAINTY,
    SCOPE,
];

/// Adds the cautions to an answer that bears on a treatment: those that decide in words, the others by where they are read.
///
/// Thirteen sentences below each number would be read once and never again.
pub(crate) fn add(answer: Answer) -> Answer {
    let others: Vec<&str> = CAUTIONS.iter().filter(|c| **c != LABEL && **c != REENTRY).map(|c| c.about).collect();
    answer
        .remark(LABEL.text)
        .remark(REENTRY.text)
        .remark(format!("Read as well what `ligule table cautions` says of {}.", others.join("; ")))
}

pub(crate) fn tables() -> Vec<Table> {
    let table = Table::new(
        "cautions",
        "What is said beside every answer that bears on a treatment",
        "Telephone numbers change: verify them before relying on them.",
        ["about", "caution"],
    );
    vec![CAUTIONS.iter().fold(table, |table, caution| {
        table.row([caution.about.into(), caution.text.into()], caution.origin, caution.source)
    })]
}
