//! What can go wrong with a rule pack, in words that name the pack, the file and the next step.

use std::path::PathBuf;

/// Why a pack cannot be opened, loaded or asked.
///
/// None of these says anything about a field: a batch that ends in one of them was *not evaluated*.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RuleError {
    /// Nothing can be read at the path.
    #[error("cannot read the rule pack {}: {problem}; give a folder with a `pack.toml` or a `.pack` file", path.display())]
    Unreadable {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        problem: String,
    },
    /// A file of the pack is not what it should be.
    #[error(
        "rule pack {pack}: {file}: {problem}; the pack is not used; fetch it again, or correct the file if it is yours"
    )]
    Damaged {
        /// The pack, by id or by file name where the id cannot be read.
        pack: String,
        /// The file inside the pack.
        file: String,
        /// What was expected and what came.
        problem: String,
    },
    /// The pack is built for another version of the contract.
    #[error("rule pack {pack} needs ligule rules API {needs}; this program offers {offers}: {hint}")]
    OtherApi {
        /// The pack.
        pack: String,
        /// The version it needs.
        needs: String,
        /// The versions offered.
        offers: String,
        /// What to do.
        hint: &'static str,
    },
    /// The component does not export the contract.
    #[error(
        "rule pack {pack}: rule.wasm is no rule for ligule: {problem}; build it for the world `ligule:rules/rule-pack@1.0.0`"
    )]
    OtherWorld {
        /// The pack.
        pack: String,
        /// What is missing or different.
        problem: String,
    },
    /// The component asks for something that a rule pack is not given.
    #[error(
        "rule pack {pack} asks for `{import}`, and rule packs get no clock, files, network or randomness; only `log` is offered; build it without"
    )]
    ForeignImport {
        /// The pack.
        pack: String,
        /// The import's name.
        import: String,
    },
    /// Manifest and rule contradict each other.
    #[error(
        "rule pack {pack}: pack.toml says {what} `{manifest}`, the rule says `{rule}`; the pack is not used; build it again"
    )]
    Disagrees {
        /// The pack.
        pack: String,
        /// What they disagree about.
        what: &'static str,
        /// The manifest's word.
        manifest: String,
        /// The rule's word.
        rule: String,
    },
    /// The rule stopped in the middle. Its instance is gone; the next question gets a new one.
    #[error(
        "rule pack {pack}: {misbehaviour} while it was asked to {during}{}; nothing was evaluated, the pack's author has to mend it",
        last_words(log)
    )]
    Stopped {
        /// The pack.
        pack: String,
        /// What it did.
        misbehaviour: Misbehaviour,
        /// The function of the contract.
        during: &'static str,
        /// What it logged before, the last words last.
        log: Vec<String>,
    },
    /// A table of the pack is wrong, says the rule.
    #[error("rule pack {pack}: tables/{table}.csv, line {line}, column `{column}`: {problem}; correct the table")]
    BadTable {
        /// The pack.
        pack: String,
        /// The table.
        table: String,
        /// The line of its file.
        line: u32,
        /// The column.
        column: String,
        /// What was expected and what came.
        problem: String,
    },
    /// The rule does not know a setting or an argument.
    #[error("rule pack {pack}: {problem}")]
    Unsupported {
        /// The pack.
        pack: String,
        /// The rule's own words, with what it knows.
        problem: String,
    },
    /// The rule gave up, in its own words.
    #[error("rule pack {pack} could not answer: {problem}; nothing was evaluated")]
    Refused {
        /// The pack.
        pack: String,
        /// The rule's own words.
        problem: String,
    },
    /// The rule answered with something that is no answer.
    #[error(
        "rule pack {pack} gave an answer that cannot be used: {problem}; nothing was evaluated, the pack's author has to mend it"
    )]
    BadAnswer {
        /// The pack.
        pack: String,
        /// What was expected and what came.
        problem: String,
    },
    /// A measure comes in another unit than the pack was written for.
    #[error(
        "rule pack {pack} expects `{measure}` in `{expected}`, the observations hold `{got}`; nothing was evaluated, update the pack or the kind"
    )]
    OtherUnit {
        /// The pack.
        pack: String,
        /// Kind and measure.
        measure: String,
        /// The unit of the manifest.
        expected: String,
        /// The unit of the observations.
        got: String,
    },
    /// The machinery that runs packs failed; no pack is to blame.
    #[error("rule packs cannot be run on this system: {problem}")]
    Host {
        /// What failed.
        problem: String,
    },
}

/// What a pack did instead of answering.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Misbehaviour {
    /// It did not come to an end.
    #[error("it ran longer than {milliseconds} ms and was stopped")]
    TooLong {
        /// The time it was given.
        milliseconds: u64,
    },
    /// It used up its budget of instructions.
    #[error("it ran longer than its budget of {fuel} units of work and was stopped")]
    TooMuchWork {
        /// The budget.
        fuel: u64,
    },
    /// It asked for more memory than it may have.
    #[error("it asked for more than {mebibytes} MiB of memory")]
    TooMuchMemory {
        /// The limit.
        mebibytes: usize,
    },
    /// It wanted to hand over more data than it may.
    #[error("it handed over more than {mebibytes} MiB at once")]
    TooMuchData {
        /// The limit.
        mebibytes: usize,
    },
    /// It called itself too deeply, or touched memory that is not its own (the two look alike from outside).
    #[error("it touched memory that is not its own, or called itself too deeply")]
    BadMemory,
    /// It called itself too deeply.
    #[error("it called itself too deeply")]
    TooDeep,
    /// It gave up with a panic or ran into an `unreachable` instruction.
    #[error("it panicked")]
    Panic,
    /// Something else that the machine stopped.
    #[error("it did something that is not defined ({0})")]
    Other(String),
}

fn last_words(log: &[String]) -> String {
    log.last().map(|words| format!(" (its last words: {words})")).unwrap_or_default()
}
