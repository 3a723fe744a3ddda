use std::io::{self, Write};
use std::net::SocketAddr;
use std::sync::Arc;

use ligule_engine::number::counted;
use ligule_engine::{EngineError, Exchange, Fault, PhotoProgress, Result};

use crate::args::{Format, Global};
use crate::listing::{Listing, megabytes, printable};
use crate::progress::Progress;
use crate::sync_args::Sync;

/// Exchanges records with other devices, then photos.
pub(crate) fn run(global: &Global, args: &Sync) -> Result<()> {
    let engine = crate::open(global)?;
    match args {
        Sync::Serve(serve) => runtime()?.block_on(engine.serve(
            serve.listen.listen,
            serve.exchanges,
            !serve.quiet_network,
            !serve.photos.no_photos,
            |addresses| {
                // Whoever started us may have stopped reading; the exchange goes on.
                let _ = listening(global.format, addresses);
            },
            |result| match result {
                Ok(exchange) => {
                    let _ = tell(global.format, &exchange);
                }
                Err(error) => {
                    let hint = error.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
                    eprintln!("note: {}", printable(&format!("{error}{hint}")));
                }
            },
        )),
        Sync::With(with) => {
            let progress = Arc::new(Progress::start("exchanging records"));
            let moving = Arc::clone(&progress);
            let photos = (!with.photos.no_photos).then_some(move |how: &PhotoProgress| moving.say(photos(how)));
            let exchange = runtime()?.block_on(engine.exchange(with.address.as_deref(), photos));
            progress.end();
            tell(global.format, &exchange?)
        }
    }
}

/// Tells how far the photos are.
pub(super) fn photos(how: &PhotoProgress) -> String {
    let mut words = "exchanging photos".to_owned();
    if how.missing > 0 {
        words.push_str(&format!(", {} of {} in", how.received, how.missing));
    }
    for (bytes, direction) in [(how.bytes_in, "in"), (how.bytes_out, "out")] {
        if bytes > 0 {
            words.push_str(&format!(", {} {direction}", megabytes(bytes)));
        }
    }
    words
}

fn listening(format: Format, addresses: &[SocketAddr]) -> Result<()> {
    let listed: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    let words = match listed.first() {
        Some(first) => format!(
            "listening on {}; other devices of the crew reach it with `ligule sync with {first}`",
            listed.join(", ")
        ),
        None => "listening; other devices of the crew find it with `ligule sync with` on the same network".to_owned(),
    };
    if format == Format::Text {
        say!("{words}");
        // Whoever started us may read the address through a pipe.
        io::stdout().flush()?;
    } else {
        eprintln!("{words}");
    }
    Ok(())
}

fn tell(format: Format, exchange: &Exchange) -> Result<()> {
    if format == Format::Text {
        tell_people(exchange)?;
    } else {
        Listing::of(serde_json::to_value(exchange)?).write(format, "", &mut io::stdout().lock())?;
    }
    for refused in &exchange.refused {
        eprintln!("note: not taken in: {refused}");
    }
    for note in &exchange.notes {
        eprintln!("note: {note}");
    }
    if format == Format::Text {
        tell_waiting(exchange.conflicts)?;
    }
    Ok(io::stdout().flush()?)
}

/// Tells how many conflicts wait for a person, where there are any.
pub(super) fn tell_waiting(conflicts: usize) -> Result<()> {
    if conflicts > 0 {
        let conflicts = counted(conflicts, "conflict waits", "conflicts wait");
        say!("{conflicts} for a person; see `ligule conflicts`");
    }
    Ok(())
}

fn tell_people(exchange: &Exchange) -> Result<()> {
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
    let (received, sent) = (exchange.photos_received.unwrap_or(0), exchange.photos_sent.unwrap_or(0));
    if received + sent > 0 {
        say!(
            "{} in, {sent} out, {} in, {} out",
            counted(received, "photo", "photos"),
            megabytes(exchange.photo_bytes_in.unwrap_or(0)),
            megabytes(exchange.photo_bytes_out.unwrap_or(0)),
        );
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
