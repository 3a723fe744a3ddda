use std::io::{self, Write};
use std::net::SocketAddr;

use ligule_engine::number::counted;
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
            |addresses| {
                // Whoever started us may have stopped reading; the exchange goes on.
                let _ = listening(addresses);
            },
            |result| match result {
                Ok(exchange) => {
                    let _ = tell(&exchange);
                }
                Err(error) => eprintln!("note: {error}"),
            },
        )),
        Sync::With(with) => {
            let progress = Progress::start("exchanging records");
            let exchange = runtime()?.block_on(engine.exchange(with.address.as_deref()))?;
            drop(progress);
            tell(&exchange)
        }
    }
}

fn listening(addresses: &[SocketAddr]) -> Result<()> {
    let listed: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    match listed.first() {
        Some(first) => say!(
            "listening on {}; other devices of the crew reach it with `ligule sync with {first}`",
            listed.join(", ")
        ),
        None => say!("listening; other devices of the crew find it with `ligule sync with` on the same network"),
    }
    // Whoever started us may read the address through a pipe.
    Ok(io::stdout().flush()?)
}

fn tell(exchange: &Exchange) -> Result<()> {
    say!(
        "exchanged with {}: {} in, {} out, {} of {} differed, {} in, {} out",
        exchange.person,
        counted(exchange.changes_in, "change", "changes"),
        exchange.changes_out,
        exchange.documents_differing,
        counted(exchange.documents, "document", "documents"),
        counted(exchange.bytes_in, "byte", "bytes"),
        exchange.bytes_out,
    );
    for refused in &exchange.refused {
        eprintln!("note: not taken in: {refused}");
    }
    for note in &exchange.notes {
        eprintln!("note: {note}");
    }
    if exchange.conflicts > 0 {
        let conflicts = counted(exchange.conflicts, "conflict waits", "conflicts wait");
        say!("{conflicts} for a person; see `ligule conflicts`");
    }
    Ok(())
}

pub(crate) fn runtime() -> Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|error| EngineError::new(Fault::System, format!("cannot start the network runtime: {error}"), ""))
}
