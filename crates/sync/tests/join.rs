//! Admission by ticket: once, in time, to the device that proves the secret on this very connection.

use ligule_sync::SyncError;
use ligule_sync::frame::{Frame, JoinAccept, JoinAsk, RefuseCode};
use ligule_sync::join::{accept, admit, ask};
use ligule_sync::membership::SignedEntry;
use ligule_sync::ticket::{Ticket, TicketError};
use ligule_testkit::crew::{DocStore, NOW, crew, device, key};

const BINDING: [u8; 32] = [8; 32];

fn situation() -> (DocStore, Ticket) {
    let mut inviter = DocStore::new(1, crew(1));
    let ticket = Ticket {
        crew: inviter.log.crew(),
        crew_name: None,
        inviter: device(1),
        addresses: Vec::new(),
        secret: [3; 16],
        expires: NOW + 900_000,
    };
    inviter.invite(&ticket);
    (inviter, ticket)
}

fn opened(answer: Vec<Frame>) -> (JoinAccept, Vec<SignedEntry>) {
    let mut entries = Vec::new();
    let mut accepted = None;
    for frame in answer {
        match frame {
            Frame::JoinAccept(body) => accepted = Some(body),
            Frame::Entries(part) => entries.extend(part),
            other => panic!("{other:?}"),
        }
    }
    (accepted.unwrap(), entries)
}

fn refused(ask: &JoinAsk, joiner: u8, binding: [u8; 32], now: i64, desk: &mut DocStore) -> RefuseCode {
    admit(ask, &device(joiner), &binding, &key(1), now, desk).unwrap_err().0
}

#[test]
fn a_ticket_admits_once() {
    let (mut inviter, ticket) = situation();
    let asked = ask(&ticket, &device(2), "person 2", &BINDING).unwrap();
    let answer = admit(&asked, &device(2), &BINDING, &key(1), NOW, &mut inviter).unwrap();
    let (body, entries) = opened(answer);
    let log = accept(&ticket, &device(2), "person 2", &BINDING, &body, entries).unwrap();
    assert_eq!(log.members()[&device(2)].person, "person 2");
    assert_eq!(log, inviter.log);
    // The same device, another device: the secret is burnt.
    assert_eq!(refused(&asked, 2, BINDING, NOW, &mut inviter), RefuseCode::Ticket);
    let other = ask(&ticket, &device(3), "person 3", &BINDING).unwrap();
    assert_eq!(refused(&other, 3, BINDING, NOW, &mut inviter), RefuseCode::Ticket);
    assert_eq!(inviter.log.members().len(), 2);
}

#[test]
fn a_proof_holds_for_one_device_one_name_and_one_connection() {
    let (mut inviter, ticket) = situation();
    let asked = ask(&ticket, &device(2), "person 2", &BINDING).unwrap();
    assert_eq!(refused(&asked, 3, BINDING, NOW, &mut inviter), RefuseCode::Ticket);
    assert_eq!(refused(&asked, 2, [9; 32], NOW, &mut inviter), RefuseCode::Ticket);
    let renamed = JoinAsk { person: "person 1".to_owned(), ..asked.clone() };
    assert_eq!(refused(&renamed, 2, BINDING, NOW, &mut inviter), RefuseCode::Ticket);
    let guessed = Ticket { secret: [4; 16], ..ticket.clone() };
    let guess = ask(&guessed, &device(2), "person 2", &BINDING).unwrap();
    assert_eq!(refused(&guess, 2, BINDING, NOW, &mut inviter), RefuseCode::Ticket);
    // None of that used the ticket up.
    admit(&asked, &device(2), &BINDING, &key(1), NOW, &mut inviter).unwrap();
}

#[test]
fn a_ticket_expires_by_the_clock_of_the_inviter() {
    let (mut inviter, ticket) = situation();
    let late = ticket.expires + 1;
    let asked = ask(&ticket, &device(2), "person 2", &BINDING).unwrap();
    assert_eq!(refused(&asked, 2, BINDING, late, &mut inviter), RefuseCode::Ticket);
    assert_eq!(inviter.log.members().len(), 1);
}

#[test]
fn an_answer_that_does_not_prove_the_secret_is_not_believed() {
    let (mut inviter, ticket) = situation();
    let asked = ask(&ticket, &device(2), "person 2", &BINDING).unwrap();
    let (body, entries) = opened(admit(&asked, &device(2), &BINDING, &key(1), NOW, &mut inviter).unwrap());
    let forged = JoinAccept { proof: [0; 32] };
    assert_eq!(
        accept(&ticket, &device(2), "person 2", &BINDING, &forged, entries.clone()).unwrap_err(),
        SyncError::Ticket(TicketError::Inviter)
    );
    // The right proof with a log that does not admit this device.
    let without = crew(1).entries().cloned().collect();
    assert!(accept(&ticket, &device(2), "person 2", &BINDING, &body, without).is_err());
}
