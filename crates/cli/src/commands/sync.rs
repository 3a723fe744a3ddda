use std::io::{self, Write};

use ligule_engine::{EngineError, Exchange, Fault, Result};

use crate::args::{Global, Sync};
use crate::progress::Progress;

/// Exchanges records with other devices.
pub(crate) fn run(global: &Global, args: &Sync) -> Result<()> {
    let engine = crate::open(global)?;
    match args {
        Sync::Serve(serve) => runtime()?.block_on(engine.serve(
            serve.listen.listen,
            serve.exchanges,
            !serve.quiet_network,
            |address| {
                println!(
                    "listening on {address}; other devices of the crew reach it with `ligule sync with {address}`"
                );
                // Whoever started us may read the address through a pipe.
                let _ = io::stdout().flush();
            },
            |result| match result {
                Ok(exchange) => tell(&exchange),
                Err(error) => eprintln!("note: {error}"),
            },
        )),
        Sync::With(with) => {
            let progress = Progress::start("exchanging records");
            let exchange = runtime()?.block_on(engine.exchange(with.address.as_deref()))?;
            drop(progress);
            tell(&exchange);
            Ok(())
        }
    }
}

fn tell(exchange: &Exchange) {
    println!(
        "exchanged with {}: {} changes in, {} out, {} of {} documents differed, {} bytes in, {} out",
        exchange.person,
        exchange.changes_in,
        exchange.changes_out,
        exchange.documents_differing,
        exchange.documents,
        exchange.bytes_in,
        exchange.bytes_out,
    );
    for refused in &exchange.refused {
        eprintln!("note: not taken in: {refused}");
    }
    if exchange.conflicts > 0 {
        println!("{} conflicts wait for a person; see `ligule conflicts`", exchange.conflicts);
    }
}

/// Tries changes that came from outside; the parent process reads the verdict.
pub(crate) fn screen() -> Result<()> {
    ligule_engine::screen(io::stdin().lock(), io::stdout().lock())
}

pub(crate) fn runtime() -> Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| EngineError::new(Fault::System, format!("cannot start the network runtime: {error}"), ""))
}
