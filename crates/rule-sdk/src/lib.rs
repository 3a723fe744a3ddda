//! What a rule pack is written with.
//!
//! A rule is a type that implements [`Rule`] and is handed to [`export_rule!`]. It reads its tables once, then looks at
//! one field at a time: [`Rule::evaluate`] finds (numbers and rows, no text), [`Rule::explain`] says it in words. The
//! kit turns that into the columns of `schemas/wit/1.0/rules.wit`, and sends the words of a panic to the host's log.
//!
//! ```ignore
//! struct Cutworm { thresholds: Vec<Threshold> }
//!
//! impl ligule_rule_sdk::Rule for Cutworm { /* … */ }
//!
//! ligule_rule_sdk::export_rule!(Cutworm);
//! ```
//!
//! This crate is also compiled for the host, where its parts are tested; only a WebAssembly build can call the host.

mod export;
mod field;
pub mod planting;
mod share;
mod table;

#[doc(hidden)]
#[allow(missing_docs, unreachable_pub, unsafe_code, clippy::all, reason = "generated from schemas/wit/1.0/rules.wit")]
pub mod bindings {
    wit_bindgen::generate!({
        path: "../../schemas/wit/1.0",
        world: "rule-pack",
        pub_export_macro: true,
        export_macro_name: "export_rule_pack",
        default_bindings_module: "ligule_rule_sdk::bindings",
    });
}

#[doc(hidden)]
pub use export::Exported;
pub use field::{Field, Row};
pub use share::{Interval, wilson_interval};
pub use table::{Cells, Table, Tables};

pub use bindings::ligule::rules::types::{
    Explanation, ReasonText, RuleError, Season, Severity, TableError, WindowState,
};

/// A rule: what a pack answers.
pub trait Rule: Sized + 'static {
    /// What a finding is about; made by `evaluate`, read by `explain`.
    type Subject;

    /// Says what the rule is; it must agree with `pack.toml`.
    fn describe() -> Description;

    /// Reads the pack's tables.
    fn load(tables: &Tables) -> Result<Self, RuleError>;

    /// Looks at one field.
    fn evaluate(&self, season: &Season, field: &Field<'_>) -> Result<Vec<Found<Self::Subject>>, RuleError>;

    /// Says a finding in words. One [`ReasonText`] for each of its reasons.
    fn explain(&self, season: &Season, field: &Field<'_>, found: &Found<Self::Subject>) -> Explanation;
}

/// What a rule is.
#[derive(Debug, Clone, Copy)]
pub struct Description {
    /// The pack's id, as in `pack.toml`.
    pub id: &'static str,
    /// The pack's version, as in `pack.toml`.
    pub version: &'static str,
    /// The names of the codes that findings bear.
    pub codes: &'static [&'static str],
    /// The measures it reads: `plant-height/height`.
    pub needs: &'static [&'static str],
}

/// A finding in numbers.
#[derive(Debug, Clone)]
pub struct Found<S> {
    /// Index into [`Description::codes`].
    pub code: u16,
    /// How urgent.
    pub severity: Severity,
    /// Where the window stands.
    pub window: WindowState,
    /// First day of the window, days since 1970-01-01.
    pub opens: Option<i32>,
    /// Last day of the window, days since 1970-01-01.
    pub closes: Option<i32>,
    /// Days after which to look again; 0 for none.
    pub next_check_days: u16,
    /// What it rests on.
    pub reasons: Vec<Evidence>,
    /// What `explain` needs to know besides.
    pub subject: S,
}

/// One reason in numbers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    /// What was observed.
    pub observed: Option<f64>,
    /// The limit, in the same unit.
    pub limit: Option<f64>,
    /// The rows it rests on.
    pub rows: Vec<u32>,
}

/// Returns a person's setting, by its key.
pub fn setting<'a>(season: &'a Season, key: &str) -> Option<&'a str> {
    season.settings.iter().find(|s| s.key == key).map(|s| s.value.trim()).filter(|v| !v.is_empty())
}

/// Makes a type that implements [`Rule`] the rule of the pack that is being built.
#[macro_export]
macro_rules! export_rule {
    ($rule:ty) => {
        type ExportedRule = $crate::Exported<$rule>;
        $crate::bindings::export_rule_pack!(ExportedRule with_types_in $crate::bindings);
    };
}
