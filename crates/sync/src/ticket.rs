//! Invitations as one line of text.

use std::fmt;
use std::net::SocketAddr;
use std::str::FromStr;

use ligule_observation::ids::{CrewId, DeviceId};
use serde::{Deserialize, Serialize};

use crate::text::{self, TextError};

const PREFIX: &str = "ligule1";
const FORMAT: u8 = 1;

/// Invites one device into a crew. Whoever holds the line can join, once, until it expires.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ticket {
    /// The crew.
    pub crew: CrewId,
    /// What the crew calls itself, to be shown before joining.
    pub crew_name: Option<String>,
    /// The device that admits.
    pub inviter: DeviceId,
    /// Where it listens.
    pub addresses: Vec<SocketAddr>,
    /// The one-time secret.
    pub secret: [u8; 16],
    /// When it expires, in milliseconds since 1970 UTC, by the inviter's clock.
    pub expires: i64,
}

/// Why a ticket cannot be read or used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TicketError {
    /// The text is damaged or something else.
    #[error("this is not a ticket: {0}")]
    Text(#[from] TextError),
    /// A newer program wrote it.
    #[error(
        "the ticket has format {got}, this program reads {FORMAT}: needs ligule as new as the inviter's; update this device"
    )]
    Format {
        /// The format that came.
        got: u8,
    },
    /// The letters are right, the content is not.
    #[error("the ticket's content does not decode ({reason}); ask for a new one")]
    Content {
        /// What the decoder said.
        reason: String,
    },
    /// Too old.
    #[error("the ticket expired {minutes} min ago; ask for a new one")]
    Expired {
        /// How long ago.
        minutes: i64,
    },
    /// The device that answered does not know the ticket's secret.
    #[error("the device that answered did not prove that it wrote the ticket; check the address and ask for a new one")]
    Inviter,
}

impl Ticket {
    /// Returns the short name by which the inviter finds the ticket again; it does not reveal the secret.
    pub fn id(&self) -> [u8; 8] {
        ticket_id(&self.secret)
    }

    /// Checks the expiry by the local clock.
    ///
    /// # Errors
    /// [`TicketError::Expired`].
    pub fn check(&self, now: i64) -> Result<(), TicketError> {
        if now > self.expires {
            return Err(TicketError::Expired { minutes: now.saturating_sub(self.expires) / 60_000 });
        }
        Ok(())
    }
}

/// Returns the short name of the ticket with this secret.
pub fn ticket_id(secret: &[u8; 16]) -> [u8; 8] {
    let mut id = [0; 8];
    id.copy_from_slice(&blake3::derive_key("ligule ticket id 1", secret)[..8]);
    id
}

impl fmt::Display for Ticket {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut bytes = vec![FORMAT];
        bytes.extend(postcard::to_stdvec(self).map_err(|_| fmt::Error)?);
        f.write_str(&text::to_line(PREFIX, &bytes))
    }
}

impl fmt::Debug for Ticket {
    /// Leaves the secret out, so that it does not reach a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Ticket")
            .field("crew", &self.crew)
            .field("crew_name", &self.crew_name)
            .field("inviter", &self.inviter)
            .field("addresses", &self.addresses)
            .field("expires", &self.expires)
            .finish_non_exhaustive()
    }
}

impl FromStr for Ticket {
    type Err = TicketError;

    fn from_str(line: &str) -> Result<Self, TicketError> {
        let bytes = text::from_line(PREFIX, line)?;
        let content = |reason: &str| TicketError::Content { reason: reason.to_owned() };
        let (&format, rest) = bytes.split_first().ok_or_else(|| content("it is empty"))?;
        if format != FORMAT {
            return Err(TicketError::Format { got: format });
        }
        match postcard::take_from_bytes(rest) {
            Ok((ticket, [])) => Ok(ticket),
            Ok(_) => Err(content("bytes follow its end")),
            Err(error) => Err(content(&error.to_string())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ticket() -> Ticket {
        Ticket {
            crew: CrewId([1; 16]),
            crew_name: Some("Morning crew".to_owned()),
            inviter: DeviceId([2; 32]),
            addresses: vec![SocketAddr::from(([192, 168, 1, 20], 4711))],
            secret: [3; 16],
            expires: 1_780_000_000_000,
        }
    }

    #[test]
    fn a_ticket_comes_back_and_hides_its_secret() {
        let line = ticket().to_string();
        assert!(line.starts_with("ligule1") && line.len() < 200, "{line}");
        assert_eq!(line.parse(), Ok(ticket()));
        assert!(!format!("{:?}", ticket()).contains("secret"));
    }

    #[test]
    fn expiry_is_told_in_minutes() {
        assert_eq!(ticket().check(1_780_000_000_000), Ok(()));
        let late = ticket().check(1_780_000_000_000 + 180_000).unwrap_err();
        assert!(late.to_string().contains("expired 3 min ago"), "{late}");
    }

    #[test]
    fn a_later_format_names_the_remedy() {
        let line = text::to_line(PREFIX, &[9, 9, 9]);
        assert!(line.parse::<Ticket>().unwrap_err().to_string().contains("needs ligule"));
    }
}
