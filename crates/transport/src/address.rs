//! How a device is named on a network.

use std::fmt;
use std::net::SocketAddr;
use std::str::FromStr;

use ligule_sync::ids::DeviceId;

use crate::error::TransportError;

/// A device and where it may be reached: its addresses are tried together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    /// The device.
    pub device: DeviceId,
    /// Where it may be: found nearby, known from last time, from a ticket, or typed.
    pub addresses: Vec<SocketAddr>,
}

/// An address as a person types it: `192.168.1.20:4711`, `[fd00::2]:4711`, each with `#` and the device id or not.
///
/// Without the id, the other members are tried in turn ([`crate::Node::sync_at`]): a connection is always to a
/// known device, never to whoever answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PeerAddress {
    /// Where.
    pub address: SocketAddr,
    /// Who, if it was typed.
    pub device: Option<DeviceId>,
}

impl fmt::Display for PeerAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.address)?;
        self.device.map_or(Ok(()), |device| write!(f, "#{device}"))
    }
}

impl FromStr for PeerAddress {
    type Err = TransportError;

    fn from_str(text: &str) -> Result<Self, TransportError> {
        let bad = |reason: &str| TransportError::Address { got: text.to_owned(), reason: reason.to_owned() };
        let (address, device) = match text.trim().split_once('#') {
            Some((address, device)) => (address, Some(device)),
            None => (text.trim(), None),
        };
        let address: SocketAddr = address.parse().map_err(|_| {
            if address.contains(':') {
                bad("the part before `#` is no IP address and port")
            } else {
                bad("the port is missing")
            }
        })?;
        let device = device.map(str::parse::<DeviceId>).transpose().map_err(|error| bad(&error.to_string()))?;
        Ok(Self { address, device })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_read_as_people_type_them() {
        let device = DeviceId([7; 32]);
        for text in ["192.168.1.20:4711", "[fd00::2]:4711"] {
            let plain: PeerAddress = text.parse().unwrap();
            assert_eq!((plain.to_string().as_str(), plain.device), (text, None));
            let full: PeerAddress = format!(" {text}#{device}").parse().unwrap();
            assert_eq!((full.address, full.device), (plain.address, Some(device)));
        }
    }

    #[test]
    fn a_wrong_address_says_which_part_is_wrong() {
        let message = |text: &str| text.parse::<PeerAddress>().unwrap_err().to_string();
        assert!(message("192.168.1.20").contains("the port is missing"));
        assert!(message("field.local:1").contains("no IP address"));
        assert!(message("10.0.0.1:1#abc").contains("32 bytes in hex"));
    }
}
