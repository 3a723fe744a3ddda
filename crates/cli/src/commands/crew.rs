use std::io::{self, Write};
use std::time::Duration;

use ligule_engine::{Noun, Phrase, Result};
use serde_json::json;

use crate::args::{Crew, Format, Global};
use crate::exit::note;
use crate::listing::Listing;
use crate::progress::Progress;

/// Shows the crew, invites, joins.
pub(crate) fn run(global: &Global, args: &Crew) -> Result<()> {
    let mut engine = crate::open(global)?;
    match args {
        Crew::Show => {
            let mut listing = Listing::new(["person", "device", "state"]).read_by(engine.reading());
            for member in engine.members()? {
                let state = match (global.format, member.state.as_str()) {
                    (Format::Text, "this device") => engine.reading().word(Phrase::MemberHere),
                    (Format::Text, "member") => engine.reading().word(Phrase::MemberOfCrew),
                    (Format::Text, "removed") => engine.reading().word(Phrase::MemberRemoved),
                    (_, state) => state,
                };
                listing.row(vec![json!(member.person), json!(member.device), json!(state)]);
            }
            listing.write(global.format, engine.reading().word(Phrase::NoMembers), &mut io::stdout().lock())?;
            if global.format == Format::Text {
                let digest = engine.digest()?;
                let reading = engine.reading();
                let crew = engine.crew_name()?;
                say!("{}", reading.say(Phrase::CrewHolds, &[("crew", &crew), ("digest", &digest)]));
                let set = engine.crew_reading()?;
                let with: [(&str, &dyn std::fmt::Display); 2] = [("system", &set.system), ("language", &set.language)];
                say!("{}", reading.say(Phrase::CrewReads, &with));
            }
        }
        Crew::Set(set) => {
            let value = Some(set.value.as_str());
            let (units, language) = if set.setting == "units" { (value, None) } else { (None, value) };
            let reading = engine.set_reading(units, language)?;
            let with: [(&str, &dyn std::fmt::Display); 2] =
                [("system", &reading.system), ("language", &reading.language)];
            say!("{}", reading.say(Phrase::CrewReadsNow, &with));
        }
        Crew::Invite(invite) => {
            let mut waiting = None;
            let minutes = u64::from(invite.minutes);
            let joined = super::sync::runtime()?.block_on(engine.invite(
                invite.listen.listen,
                Duration::from_secs(60 * minutes),
                |ticket| {
                    // Whoever started us reads the invitation through a pipe; if nobody does, it expires.
                    let _ = show(ticket);
                    waiting = Some(Progress::start(format!(
                        "waiting up to {minutes} min for `ligule crew join …` on the other device"
                    )));
                },
            ))?;
            drop(waiting);
            let with: [(&str, &dyn std::fmt::Display); 2] = [("person", &joined.person), ("device", &joined.device)];
            say!("{}", engine.reading().say(Phrase::PersonJoined, &with));
            joined.notes.iter().for_each(|told| note(engine.reading(), told));
        }
        Crew::Remove(remove) => {
            let removed = engine.remove_member(&remove.who)?;
            say!("removed {} with device {} from the crew", removed.person, removed.device);
            say!("  from now on this device exchanges no records with it");
            say!("  the other members go on until they hear of it: exchange records with each of them soon");
            say!("  what was exchanged before stays where it is, on that device too, and cannot be taken back");
        }
        Crew::Join(join) => {
            let joined = super::sync::runtime()?.block_on(engine.join(&join.invitation))?;
            // As the crew reads that it is of now.
            let reading = engine.reading();
            let with: [(&str, &dyn std::fmt::Display); 2] = [("crew", &joined.crew), ("inviter", &joined.inviter)];
            say!("{}", reading.say(Phrase::CrewJoined, &with));
            if joined.observations > 0 {
                let observations = reading.counted(joined.observations, Noun::Observation);
                say!("{}", reading.say(Phrase::CameAlong, &[("observations", &observations)]));
            }
            joined.notes.iter().for_each(|told| note(reading, told));
            note(reading, reading.word(Phrase::SyncNext));
        }
    }
    Ok(())
}

fn show(ticket: &str) -> Result<()> {
    say!("{ticket}");
    Ok(io::stdout().flush()?)
}
