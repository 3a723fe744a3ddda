//! Finding the crew's devices nearby by multicast DNS, on every interface, with or without a default route.
//!
//! What is announced tells strangers neither the crew nor the device: a random salt, a tag that only who knows the
//! crew's id can compute from it, and the device id behind a mask of the same kind. Each start takes a new salt.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::net::SocketAddr;
use std::time::Duration;

use ligule_sync::ids::{CrewId, DeviceId, hex};
use mdns_sd::{ResolvedService, ServiceDaemon, ServiceEvent, ServiceInfo};
use tokio::time::{Instant, timeout_at};

use crate::address::Target;
use crate::error::TransportError;

const SERVICE: &str = "_ligule._udp.local.";

/// Keeps a device announced; dropping it ends the announcement.
pub struct Announcement {
    daemon: ServiceDaemon,
    name: String,
}

impl Drop for Announcement {
    fn drop(&mut self) {
        // The daemon's thread says goodbye to the network and ends by itself; there is nobody to tell if it cannot.
        let _ = self.daemon.unregister(&self.name);
        let _ = self.daemon.shutdown();
    }
}

/// Announces a device that listens on `sockets` ([`crate::Node::sockets`]). `salt` must be random.
///
/// # Errors
/// [`TransportError::Discovery`] if there is no socket or multicast DNS does not start.
pub fn announce(
    crew: CrewId,
    device: &DeviceId,
    sockets: &[SocketAddr],
    salt: [u8; 8],
) -> Result<Announcement, TransportError> {
    let socket = sockets.iter().find(|socket| socket.is_ipv4()).or(sockets.first());
    let socket = socket.ok_or_else(|| failed("the node has no socket"))?;
    let text = hex(&salt);
    let properties: HashMap<String, String> = Properties::of(crew, device, salt).into();
    let host = format!("ligule-{text}.local.");
    let everywhere = socket.ip().is_unspecified();
    let ip = if everywhere { String::new() } else { socket.ip().to_string() };
    let mut info = ServiceInfo::new(SERVICE, &text, &host, ip.as_str(), socket.port(), properties).map_err(failed)?;
    if everywhere {
        info = info.enable_addr_auto();
    }
    let name = info.get_fullname().to_owned();
    let daemon = ServiceDaemon::new().map_err(failed)?;
    daemon.register(info).map_err(failed)?;
    Ok(Announcement { daemon, name })
}

/// Listens for the crew's devices for as long as `wait`, or until `enough` of those that are `wanted` were found: this very
/// device is none of them, nor is one that was removed and does not know it.
///
/// # Errors
/// [`TransportError::NothingFound`] says what to do then; [`TransportError::Discovery`] if multicast DNS does not
/// start.
pub async fn find(
    crew: CrewId,
    wanted: impl Fn(&DeviceId) -> bool,
    wait: Duration,
    enough: usize,
) -> Result<Vec<Target>, TransportError> {
    let daemon = ServiceDaemon::new().map_err(failed)?;
    let events = daemon.browse(SERVICE).map_err(failed)?;
    let deadline = Instant::now() + wait;
    let mut found: BTreeMap<DeviceId, BTreeSet<SocketAddr>> = BTreeMap::new();
    while found.len() < enough
        && let Ok(Ok(event)) = timeout_at(deadline, events.recv_async()).await
    {
        if let ServiceEvent::ServiceResolved(service) = event
            && let Some(device) = Properties::read(&service).and_then(|properties| properties.device(crew))
            && wanted(&device)
        {
            found.entry(device).or_default().extend(addresses(&service));
        }
    }
    let _ = daemon.shutdown();
    let targets: Vec<Target> = found
        .into_iter()
        .filter(|(_, addresses)| !addresses.is_empty())
        .map(|(device, addresses)| Target { device, addresses: addresses.into_iter().collect() })
        .collect();
    if targets.is_empty() { Err(TransportError::NothingFound { waited: wait }) } else { Ok(targets) }
}

fn failed(reason: impl ToString) -> TransportError {
    TransportError::Discovery { reason: reason.to_string() }
}

fn addresses(service: &ResolvedService) -> impl Iterator<Item = SocketAddr> + '_ {
    let usable = |ip: &std::net::IpAddr| match ip {
        std::net::IpAddr::V4(_) => true,
        // Of no use without the interface's number.
        std::net::IpAddr::V6(ip) => !ip.is_unicast_link_local(),
    };
    let port = service.get_port();
    service
        .get_addresses()
        .iter()
        .map(mdns_sd::ScopedIp::to_ip_addr)
        .filter(usable)
        .map(move |ip| SocketAddr::new(ip, port))
}

/// What is announced.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Properties {
    salt: [u8; 8],
    tag: [u8; 8],
    masked: [u8; 32],
}

impl Properties {
    fn of(crew: CrewId, device: &DeviceId, salt: [u8; 8]) -> Self {
        let (tag, mask) = tag_and_mask(crew, &salt);
        Self { salt, tag, masked: xor(&device.0, &mask) }
    }

    /// Returns the device, if it is of this crew.
    fn device(&self, crew: CrewId) -> Option<DeviceId> {
        let (tag, mask) = tag_and_mask(crew, &self.salt);
        (tag == self.tag).then(|| DeviceId(xor(&self.masked, &mask)))
    }

    fn read(service: &ResolvedService) -> Option<Self> {
        Some(Self {
            salt: unhex(service.get_property_val_str("s")?)?,
            tag: unhex(service.get_property_val_str("t")?)?,
            masked: unhex(service.get_property_val_str("d")?)?,
        })
    }
}

impl From<Properties> for HashMap<String, String> {
    fn from(properties: Properties) -> Self {
        let text = |key: &str, bytes: &[u8]| (key.to_owned(), hex(bytes));
        Self::from([text("s", &properties.salt), text("t", &properties.tag), text("d", &properties.masked)])
    }
}

fn tag_and_mask(crew: CrewId, salt: &[u8; 8]) -> ([u8; 8], [u8; 32]) {
    let mut material = crew.0.to_vec();
    material.extend_from_slice(salt);
    let mut tag = [0; 8];
    tag.copy_from_slice(&blake3::derive_key("ligule discovery tag 1", &material)[..8]);
    (tag, blake3::derive_key("ligule discovery mask 1", &material))
}

fn xor(left: &[u8; 32], right: &[u8; 32]) -> [u8; 32] {
    std::array::from_fn(|at| left[at] ^ right[at])
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    if text.len() != 2 * N || !text.is_ascii() {
        return None;
    }
    let mut bytes = [0; N];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn members_recognise_a_device_and_strangers_do_not() {
        let device = DeviceId([9; 32]);
        let announced = Properties::of(CrewId([1; 16]), &device, [2; 8]);
        assert_eq!(announced.device(CrewId([1; 16])), Some(device));
        assert_eq!(announced.device(CrewId([3; 16])), None);
        let again = Properties::of(CrewId([1; 16]), &device, [4; 8]);
        assert!(again.tag != announced.tag && again.masked != announced.masked, "a new salt looks like a new device");
    }
}
