//! One file a command.

mod advise;
mod archive;
mod assess;
mod backup;
mod bundle;
pub(crate) mod calc;
mod compact;
mod correct;
mod crew;
mod demo;
mod field;
mod import;
mod init;
mod journal;
mod kind;
mod list;
mod outline;
mod pack;
mod paper;
mod photo;
mod query;
pub(crate) mod record;
mod reentry;
mod report;
mod roster;
mod sheet;
mod sync;
mod table;
mod visit;

use ligule_engine::{Engine, Reading, Result};

use crate::args::{Command, Global};

/// Returns how the crew reads, of commands that need no journal: as if nothing were set where there is none.
fn crews_reading(global: &Global) -> Reading {
    let folder = crate::journal_folder(global).ok();
    folder.and_then(|folder| Engine::reading_of(&folder).ok()).unwrap_or_default()
}

/// Returns how whoever gave this command reads.
fn reading(global: &Global) -> Result<Reading> {
    crews_reading(global).but(global.unit_system.as_deref(), global.language.as_deref())
}

/// Runs a command.
pub(crate) fn run(global: &Global, command: &Command) -> Result<()> {
    match command {
        Command::Init(args) => init::run(global, args),
        Command::Field(args) => field::run(global, args),
        Command::Grower(args) => roster::growers(global, args),
        Command::Planter(args) => roster::planters(global, args),
        Command::Soil(args) => roster::soils(global, args),
        Command::Kind(args) => kind::run(global, args),
        Command::Record(args) => record::run(global, args, None),
        Command::Visit(args) => visit::run(global, args),
        Command::Amend(args) => correct::amend(global, args),
        Command::Void(args) => correct::void(global, args),
        Command::List(args) => list::run(global, args),
        Command::History(args) => list::history(global, args),
        Command::Conflicts => correct::conflicts(global),
        Command::Resolve(args) => correct::resolve(global, args),
        Command::Import(args) => import::run(global, args),
        Command::Table(args) => table::run(global, args),
        Command::Calc => calc::run(global, None),
        Command::Assess(args) => assess::run(global, args),
        Command::Crew(args) => crew::run(global, args),
        Command::Sync(args) => sync::run(global, args),
        Command::Bundle(args) => bundle::run(global, args),
        Command::Compact(args) => compact::run(global, args),
        Command::Archive(args) => archive::run(global, args),
        Command::Query(args) => query::run(global, args),
        Command::Advise(args) => advise::run(global, args),
        Command::Pack(args) => pack::run(global, args),
        Command::Report(args) => report::run(global, args),
        Command::Photo(args) => photo::run(global, args),
        Command::Journal(args) => journal::run(global, args),
        Command::Backup(args) => backup::run(global, args),
        Command::Demo(args) => demo::run(args),
        Command::Completions(args) => paper::completions(args),
        Command::Manual(args) => paper::manual(args),
    }
}
