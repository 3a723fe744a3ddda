use std::io::{self, Write};
use std::net::SocketAddr;
use std::sync::Arc;

use ligule_engine::{EngineError, Exchange, Fault, Noun, PhotoProgress, Phrase, Reading, Result};

use crate::args::{Format, Global};
use crate::exit::note;
use crate::listing::{Listing, megabytes};
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
                let _ = listening(global.format, addresses, engine.reading());
            },
            |result| match result {
                Ok(exchange) => {
                    let _ = tell(global.format, &exchange, engine.reading());
                }
                Err(error) => {
                    let hint = error.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
                    note(engine.reading(), &format!("{error}{hint}"));
                }
            },
        )),
        Sync::With(with) => {
            let progress = Arc::new(Progress::start("exchanging records"));
            let moving = Arc::clone(&progress);
            let photos = (!with.photos.no_photos).then_some(move |how: &PhotoProgress| moving.say(photos(how)));
            let exchange = runtime()?.block_on(engine.exchange(with.address.as_deref(), photos));
            progress.end();
            // A crew's settings may have come with it.
            let reading = engine.crew_reading()?.but(global.unit_system.as_deref(), global.language.as_deref())?;
            tell(global.format, &exchange?, &reading)
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

fn listening(format: Format, addresses: &[SocketAddr], reading: &Reading) -> Result<()> {
    let listed: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    let words = match listed.first() {
        Some(first) => reading.say(Phrase::ListeningOn, &[("addresses", &listed.join(", ")), ("first", first)]),
        None => reading.word(Phrase::ListeningNearby).to_owned(),
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

fn tell(format: Format, exchange: &Exchange, reading: &Reading) -> Result<()> {
    if format == Format::Text {
        tell_people(exchange, reading)?;
    } else {
        Listing::of(serde_json::to_value(exchange)?).write(format, "", &mut io::stdout().lock())?;
    }
    for refused in &exchange.refused {
        note(reading, &reading.say(Phrase::NotTakenIn, &[("refused", refused)]));
    }
    for told in &exchange.notes {
        note(reading, told);
    }
    if format == Format::Text {
        tell_waiting(exchange.conflicts, reading)?;
    }
    Ok(io::stdout().flush()?)
}

/// Tells how many conflicts wait for a person, where there are any.
pub(super) fn tell_waiting(conflicts: usize, reading: &Reading) -> Result<()> {
    if conflicts > 0 {
        let conflicts = reading.counted(conflicts, Noun::ConflictWaits);
        say!("{}", reading.say(Phrase::ForAPerson, &[("conflicts", &conflicts)]));
    }
    Ok(())
}

fn tell_people(exchange: &Exchange, reading: &Reading) -> Result<()> {
    let with: [(&str, &dyn std::fmt::Display); 7] = [
        ("person", &exchange.person),
        ("changes_in", &reading.counted(exchange.changes_in, Noun::Change)),
        ("changes_out", &exchange.changes_out),
        ("differing", &exchange.documents_differing),
        ("documents", &reading.counted(exchange.documents, Noun::Document)),
        ("bytes_in", &reading.counted(exchange.bytes_in, Noun::Byte)),
        ("bytes_out", &exchange.bytes_out),
    ];
    say!("{}", reading.say(Phrase::Exchanged, &with));
    let (received, sent) = (exchange.photos_received.unwrap_or(0), exchange.photos_sent.unwrap_or(0));
    if received + sent > 0 {
        let with: [(&str, &dyn std::fmt::Display); 4] = [
            ("received", &reading.counted(received, Noun::Photo)),
            ("sent", &sent),
            ("size_in", &megabytes(exchange.photo_bytes_in.unwrap_or(0))),
            ("size_out", &megabytes(exchange.photo_bytes_out.unwrap_or(0))),
        ];
        say!("{}", reading.say(Phrase::PhotosExchanged, &with));
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
