//! How an invited device is admitted: one question, one answer, over a connection that knows both device ids.
//!
//! The joiner proves that it knows the ticket's secret without sending it; the proof is bound to both devices, to
//! the crew, to the person's name, and to the connection (`binding`: keying material that both ends export from
//! it). The inviter burns the secret durably, then signs the admission. A lost answer costs the ticket, never
//! a second admission.

use ed25519_dalek::SigningKey;
use ligule_observation::ids::DeviceId;

use crate::codec::MAX_FRAME;
use crate::error::SyncError;
use crate::frame::{Frame, JoinAccept, JoinAsk, RefuseCode};
use crate::membership::{MembershipLog, SignedEntry, device_id, in_parts};
use crate::store::StoreError;
use crate::ticket::{Ticket, TicketError, ticket_id};

/// The longest name of a person, in bytes.
pub const MAX_PERSON: usize = 200;

/// An invitation as the inviter keeps it, durably, until it expires.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenInvitation {
    /// The secret.
    pub secret: [u8; 16],
    /// When it expires, in milliseconds since 1970 UTC.
    pub expires: i64,
    /// Whether it was used.
    pub used: bool,
}

/// Keeps invitations and the membership log on the inviter's side.
pub trait InviteDesk {
    /// Returns the invitation with this short name ([`Ticket::id`]).
    ///
    /// # Errors
    /// When the store cannot be read.
    fn invitation(&mut self, id: &[u8; 8]) -> Result<Option<OpenInvitation>, StoreError>;

    /// Marks it used, durably, and returns whether it was unused before; of two calls only one gets `true`.
    ///
    /// # Errors
    /// When the store cannot be written.
    fn burn(&mut self, id: &[u8; 8]) -> Result<bool, StoreError>;

    /// Returns the crew's membership log.
    ///
    /// # Errors
    /// When the store cannot be read.
    fn membership(&mut self) -> Result<MembershipLog, StoreError>;

    /// Adds the admission to the log, durably.
    ///
    /// # Errors
    /// When the store cannot be written.
    fn keep(&mut self, admission: SignedEntry) -> Result<(), StoreError>;
}

/// Returns the joiner's question.
///
/// Whether the ticket has expired is left to the inviter, by whose clock it does: this device's may be wrong.
///
/// # Errors
/// A person's name that is empty or longer than [`MAX_PERSON`].
pub fn ask(ticket: &Ticket, joiner: &DeviceId, person: &str, binding: &[u8; 32]) -> Result<JoinAsk, SyncError> {
    check_person(person)?;
    let proof = proof(&ticket.secret, "joiner", ticket, joiner, person, binding);
    Ok(JoinAsk { ticket: ticket.id(), person: person.to_owned(), proof })
}

/// What the inviter answers: frames to send in this order.
pub type Answer = Vec<Frame>;

/// Answers a joiner's question: burns the ticket, signs the admission, keeps it.
///
/// # Errors
/// The code to refuse with, and for the log of this device why.
pub fn admit(
    ask: &JoinAsk,
    joiner: &DeviceId,
    binding: &[u8; 32],
    signer: &SigningKey,
    now: i64,
    desk: &mut dyn InviteDesk,
) -> Result<Answer, (RefuseCode, SyncError)> {
    let store = |error: StoreError| (RefuseCode::Store, SyncError::Store(error));
    let refuse = |reason: &str| (RefuseCode::Ticket, SyncError::Membership { reason: reason.to_owned() });
    check_person(&ask.person).map_err(|error| (RefuseCode::Broken, error))?;
    let Some(invitation) = desk.invitation(&ask.ticket).map_err(store)? else {
        return Err(refuse("a device asked to join with an unknown ticket"));
    };
    let mut log = desk.membership().map_err(store)?;
    let ticket = Ticket {
        crew: log.crew(),
        crew_name: None,
        inviter: device_id(signer),
        addresses: Vec::new(),
        secret: invitation.secret,
        expires: invitation.expires,
    };
    let expected = proof(&ticket.secret, "joiner", &ticket, joiner, &ask.person, binding);
    // `blake3::Hash` compares in constant time.
    if blake3::Hash::from(expected) != blake3::Hash::from(ask.proof) {
        return Err(refuse("a device asked to join with a wrong proof of the ticket"));
    }
    if let Err(expired) = ticket.check(now) {
        return Err((RefuseCode::Ticket, expired.into()));
    }
    if invitation.used || !desk.burn(&ask.ticket).map_err(store)? {
        return Err(refuse("a device asked to join with a ticket that was already used"));
    }
    let admission = log
        .admit(signer, *joiner, &ask.person, now, invitation.expires)
        .map_err(|error| (RefuseCode::NotMember, error))?;
    desk.keep(admission).map_err(store)?;
    let proof = proof(&ticket.secret, "inviter", &ticket, joiner, &ask.person, binding);
    let mut answer = vec![Frame::JoinAccept(JoinAccept { proof })];
    answer.extend(in_parts(log.entries().cloned(), MAX_FRAME / 2).into_iter().map(Frame::Entries));
    answer.push(Frame::Entries(Vec::new()));
    Ok(answer)
}

/// Checks the inviter's answer and returns the crew's log, of which the joiner is now a member.
///
/// # Errors
/// [`TicketError::Inviter`] if the answer does not prove the secret; [`SyncError::Membership`] if the log does not
/// admit the joiner.
pub fn accept(
    ticket: &Ticket,
    joiner: &DeviceId,
    person: &str,
    binding: &[u8; 32],
    answer: &JoinAccept,
    entries: Vec<SignedEntry>,
) -> Result<MembershipLog, SyncError> {
    let expected = proof(&ticket.secret, "inviter", ticket, joiner, person, binding);
    if blake3::Hash::from(expected) != blake3::Hash::from(answer.proof) {
        return Err(TicketError::Inviter.into());
    }
    let mut log = MembershipLog::empty(ticket.crew);
    log.merge(entries);
    let members = log.members();
    if !members.contains_key(joiner) || !members.contains_key(&ticket.inviter) {
        let reason = "the inviter's log does not admit this device; ask for a new ticket".to_owned();
        return Err(SyncError::Membership { reason });
    }
    Ok(log)
}

fn check_person(person: &str) -> Result<(), SyncError> {
    if person.trim().is_empty() || person.len() > MAX_PERSON {
        let reason = format!("expected a person's name of 1 to {MAX_PERSON} bytes, got {}", person.len());
        return Err(SyncError::Membership { reason });
    }
    Ok(())
}

fn proof(
    secret: &[u8; 16],
    role: &str,
    ticket: &Ticket,
    joiner: &DeviceId,
    person: &str,
    binding: &[u8; 32],
) -> [u8; 32] {
    let key = blake3::derive_key("ligule join proof 1", secret);
    let mut hasher = blake3::Hasher::new_keyed(&key);
    hasher.update(role.as_bytes());
    hasher.update(&ticket_id(secret));
    hasher.update(&ticket.crew.0);
    hasher.update(&ticket.inviter.0);
    hasher.update(&joiner.0);
    hasher.update(binding);
    hasher.update(person.as_bytes());
    *hasher.finalize().as_bytes()
}
