//! This device on the network.

use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr};
use std::time::Duration;

use iroh::endpoint::{Connection, QuicTransportConfig, RecvStream, SendStream, VarInt, presets};
use iroh::{Endpoint, EndpointAddr, EndpointId, RelayMode, SecretKey};
use ligule_sync::codec::{self, Decoder};
use ligule_sync::frame::RefuseCode;
use ligule_sync::ids::DeviceId;
use ligule_sync::membership::{MAX_ENTRIES, MembershipLog};
use ligule_sync::ticket::Ticket;
use ligule_sync::{Frame, Local, PhotoReport, Role, Session, SigningKey, SyncError, SyncReport, join};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::time::{Instant, timeout};

use crate::address::Target;
use crate::driver::{Stores, run_photos, run_session};
use crate::error::TransportError;
use crate::{JOIN_ALPN, SYNC_ALPN};

/// How long to wait for a device to answer.
const CONNECT: Duration = Duration::from_secs(5);
/// How long a join may take.
const JOIN: Duration = Duration::from_secs(30);
/// How long is waited for what a device's clock says: it comes together with what is before it, or not at all.
const CLOCK: Duration = Duration::from_secs(2);
/// How long to wait for the streams of the photos.
const PHOTOS: Duration = Duration::from_secs(10);
/// What a stream may hold in memory before it is read, in bytes.
///
/// The library gives a connection up whose stream has more than 1,024 gaps (`too many gaps in stream buffer`), which loss on
/// a loopback interface was seen to reach within 50 MB: with packets of at least 1,200 bytes, every second one lost, no
/// window of 1 MiB can have more than half as many.
const WINDOW: u32 = 1 << 20;
/// How many streams a connection has: of the records, and of the photos that follow.
const STREAMS: u32 = 2;
/// How long a connection lives without any packet.
const IDLE: Duration = Duration::from_secs(20);

/// What a node needs.
#[derive(Debug, Clone)]
pub struct NodeOptions {
    /// The device's key; its public half is the device id.
    pub key: SigningKey,
    /// Where to listen; empty means any free port on every interface, IPv4 and IPv6.
    pub listen: Vec<SocketAddr>,
    /// The version of `ligule`.
    pub program: String,
    /// This device's clock, in milliseconds since 1970 UTC.
    pub clock: fn() -> i64,
}

/// This device on the network. Cheap to clone; close it once with [`Node::close`].
#[derive(Debug, Clone)]
pub struct Node {
    pub(crate) endpoint: Endpoint,
    pub(crate) key: SigningKey,
    pub(crate) program: String,
    clock: fn() -> i64,
}

impl Node {
    /// Opens the port. Uses no relay, no look-up service and no name server.
    ///
    /// # Errors
    /// [`TransportError::Bind`] if a port is taken or not allowed.
    pub async fn bind(options: NodeOptions) -> Result<Self, TransportError> {
        let described = if options.listen.is_empty() { "any free port".to_owned() } else { list(&options.listen) };
        let bad = |reason: String| TransportError::Bind { address: described.clone(), reason };
        let mut builder = Endpoint::builder(presets::Minimal)
            .relay_mode(RelayMode::Disabled)
            .secret_key(SecretKey::from_bytes(&options.key.to_bytes()))
            .alpns(vec![SYNC_ALPN.to_vec(), JOIN_ALPN.to_vec()])
            .transport_config(transport_config());
        if !options.listen.is_empty() {
            builder = builder.clear_ip_transports();
        }
        for address in &options.listen {
            builder = builder.bind_addr(*address).map_err(|error| bad(error.to_string()))?;
        }
        let endpoint = builder.bind().await.map_err(|error| bad(error.to_string()))?;
        Ok(Self { endpoint, key: options.key, program: options.program, clock: options.clock })
    }

    /// Returns the device id.
    pub fn device(&self) -> DeviceId {
        DeviceId(*self.endpoint.id().as_bytes())
    }

    /// Returns the sockets that listen; an unspecified address stands for every interface.
    pub fn sockets(&self) -> Vec<SocketAddr> {
        self.endpoint.bound_sockets()
    }

    /// Returns the addresses at which others may reach this device, for a ticket or to be read aloud.
    pub fn addresses(&self) -> Vec<SocketAddr> {
        let sockets = self.sockets();
        let named = sockets.iter().copied().filter(|address| !address.ip().is_unspecified());
        let found = self.endpoint.addr().ip_addrs().copied().collect::<Vec<_>>();
        let mut all: Vec<SocketAddr> = named.chain(found).filter(|address| !is_link_local(address)).collect();
        all.sort();
        all.dedup();
        all
    }

    /// Exchanges with a device. All its addresses are tried at once; after 5 s without an answer this gives up.
    ///
    /// Photos follow when both devices are done with the records; what becomes of them is told beside and is no error.
    ///
    /// # Errors
    /// Any [`TransportError`].
    pub async fn sync_with(&self, target: &Target, stores: Stores) -> Result<Exchanged, TransportError> {
        let connection = self.connect(target, SYNC_ALPN).await?;
        let result = self.sync_over(&connection, Role::Initiator, stores).await;
        connection.close(VarInt::from_u32(0), b"done");
        result
    }

    /// Exchanges with whichever of `members` answers at a typed address, and returns which it was.
    ///
    /// A handshake names the device it expects, so the members are tried in turn; a wrong one is told within a round
    /// trip. Put the likeliest first. If nobody answers at all, the rest is not tried.
    ///
    /// # Errors
    /// [`TransportError::NoMemberThere`] if the device at the address is none of them; any other [`TransportError`].
    pub async fn sync_at(
        &self,
        address: SocketAddr,
        members: &[DeviceId],
        stores: Stores,
    ) -> Result<(DeviceId, Exchanged), TransportError> {
        let others: Vec<DeviceId> = members.iter().copied().filter(|device| *device != self.device()).collect();
        for &device in &others {
            match self.sync_with(&Target { device, addresses: vec![address] }, stores.clone()).await {
                Err(TransportError::Handshake { .. }) => {}
                Ok(exchanged) => return Ok((device, exchanged)),
                Err(error) => return Err(error),
            }
        }
        Err(TransportError::NoMemberThere { address, tried: others.len() })
    }

    /// Joins the crew of a ticket.
    ///
    /// The answer holds an error when the ticket has expired (by the inviter's clock) or was used, the inviter does not
    /// answer, or its answer does not prove that it wrote the ticket.
    pub async fn join(&self, ticket: &Ticket, person: &str) -> JoinAnswer {
        let target = Target { device: ticket.inviter, addresses: ticket.addresses.clone() };
        let mut clock_ahead = None;
        let log = match self.connect(&target, JOIN_ALPN).await {
            Err(error) => Err(error),
            Ok(connection) => {
                let result = timeout(JOIN, self.join_over(&connection, ticket, person, &mut clock_ahead)).await;
                connection.close(VarInt::from_u32(0), b"done");
                result.unwrap_or(Err(TransportError::Silent { waited: JOIN }))
            }
        };
        JoinAnswer { log, clock_ahead }
    }

    async fn join_over(
        &self,
        connection: &Connection,
        ticket: &Ticket,
        person: &str,
        clock_ahead: &mut Option<i64>,
    ) -> Result<MembershipLog, TransportError> {
        let binding = binding(connection)?;
        let ask = join::ask(ticket, &self.device(), person, &binding)?;
        let (mut send, mut receive) = connection.open_bi().await.map_err(|error| broken(&error))?;
        send_frames(&mut send, &[Frame::JoinAsk(ask), Frame::Clock(self.now())]).await?;
        let mut frames = FrameReader::new(usize::MAX);
        let answer = match frames.next(&mut receive).await? {
            Frame::JoinAccept(answer) => answer,
            Frame::Refuse(code) => {
                *clock_ahead = self.clock_ahead(&mut frames, &mut receive).await;
                return Err(SyncError::Refused { code }.into());
            }
            other => return Err(SyncError::Unexpected { expected: "a join acceptance", got: other.name() }.into()),
        };
        let mut entries = Vec::new();
        loop {
            match frames.next(&mut receive).await? {
                Frame::Entries(part) if part.is_empty() => break,
                Frame::Entries(part) if entries.len() + part.len() <= MAX_ENTRIES => entries.extend(part),
                other => return Err(SyncError::Unexpected { expected: "membership entries", got: other.name() }.into()),
            }
        }
        *clock_ahead = self.clock_ahead(&mut frames, &mut receive).await;
        Ok(join::accept(ticket, &self.device(), person, &binding, &answer, entries)?)
    }

    /// What this device's clock says, in milliseconds since 1970 UTC.
    pub(crate) fn now(&self) -> i64 {
        (self.clock)()
    }

    /// Reads the last frame of a device that joins, or lets join: by how many milliseconds its clock is ahead of this
    /// one's, where it says.
    pub(crate) async fn clock_ahead(&self, frames: &mut FrameReader, receive: &mut RecvStream) -> Option<i64> {
        match timeout(CLOCK, frames.next(receive)).await {
            Ok(Ok(Frame::Clock(at))) => Some(at.saturating_sub(self.now())),
            // A program that does not tell it ends its half here.
            _ => None,
        }
    }

    /// Closes the node; connections that are still open are ended.
    pub async fn close(&self) {
        self.endpoint.close().await;
    }

    async fn connect(&self, target: &Target, alpn: &[u8]) -> Result<Connection, TransportError> {
        let device = target.device.to_string();
        if target.addresses.is_empty() {
            return Err(TransportError::NoAddress { device });
        }
        let address = list(&target.addresses);
        let wrong =
            |reason: String| TransportError::Handshake { address: address.clone(), device: device.clone(), reason };
        if target.device == self.device() {
            return Err(wrong("that is this device itself".to_owned()));
        }
        let id = EndpointId::from_bytes(&target.device.0).map_err(|_| wrong("this is no device id".to_owned()))?;
        let whole = target.addresses.iter().fold(EndpointAddr::new(id), |whole, address| whole.with_ip_addr(*address));
        let begun = Instant::now();
        let silent = || TransportError::NoAnswer { address: address.clone(), waited: begun.elapsed() };
        match timeout(CONNECT, self.endpoint.connect(whole, alpn)).await {
            Err(_) => Err(silent()),
            Ok(Ok(connection)) => Ok(connection),
            Ok(Err(error)) => {
                let reason = chain(&error);
                // The library gives up by itself when the system says that nothing is there.
                if reason.contains("timed out") { Err(silent()) } else { Err(wrong(reason)) }
            }
        }
    }

    pub(crate) async fn sync_over(
        &self,
        connection: &Connection,
        role: Role,
        stores: Stores,
    ) -> Result<Exchanged, TransportError> {
        let Stores { records: store, photos } = stores;
        let shared = store.clone();
        let membership = tokio::task::spawn_blocking(move || -> Result<MembershipLog, TransportError> {
            let mut store = shared.lock().map_err(|_| TransportError::StorePanicked)?;
            Ok(store.membership().map_err(SyncError::from)?)
        });
        let crew = membership.await.map_err(|_| TransportError::StorePanicked)??.crew();
        let local = Local {
            crew,
            device: self.device(),
            program: self.program.clone(),
            now: self.now(),
            photos: photos.is_some(),
        };
        let peer = DeviceId(*connection.remote_id().as_bytes());
        let (send, receive) = streams(connection, role).await?;
        let records = run_session(receive, send, Session::new(role, local, peer), store).await?;
        let photos = match photos.filter(|_| records.photos_follow) {
            None => None,
            // The device has been found to be a member; these streams are of the same connection.
            Some(open) => Some(match timeout(PHOTOS, streams(connection, role)).await {
                Ok(Ok((send, receive))) => run_photos(receive, send, open()).await,
                Ok(Err(error)) => failed(&error),
                Err(_) => failed(&TransportError::Silent { waited: PHOTOS }),
            }),
        };
        Ok(Exchanged { records, photos })
    }
}

/// What came of asking to join.
#[derive(Debug)]
pub struct JoinAnswer {
    /// The crew's membership log, which the caller keeps.
    pub log: Result<MembershipLog, TransportError>,
    /// By how many milliseconds the inviter's clock is ahead of this one's (negative: behind), where it said so; it does
    /// with a refusal too.
    pub clock_ahead: Option<i64>,
}

/// What an exchange did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchanged {
    /// Of records; they came to their end before any photo was spoken of.
    pub records: SyncReport,
    /// Of photos; none where one of both devices exchanges none.
    pub photos: Option<PhotoReport>,
}

async fn streams(connection: &Connection, role: Role) -> Result<(SendStream, RecvStream), TransportError> {
    match role {
        Role::Initiator => connection.open_bi().await,
        Role::Responder => connection.accept_bi().await,
    }
    .map_err(|error| broken(&error))
}

fn failed(error: &TransportError) -> PhotoReport {
    PhotoReport { failures: vec![error.to_string()], ..PhotoReport::default() }
}

/// Returns keying material that only the two ends of this connection share.
pub(crate) fn binding(connection: &Connection) -> Result<[u8; 32], TransportError> {
    let mut binding = [0; 32];
    connection
        .export_keying_material(&mut binding, b"EXPORTER-ligule-join-1", b"")
        .map_err(|_| TransportError::Broken { reason: "the connection has no keying material".to_owned() })?;
    Ok(binding)
}

pub(crate) async fn send_frames(send: &mut SendStream, frames: &[Frame]) -> Result<(), TransportError> {
    for frame in frames {
        let bytes = codec::encode(frame).map_err(SyncError::from)?;
        send.write_all(&bytes).await.map_err(|error| broken(&error))?;
    }
    send.shutdown().await.map_err(|error| broken(&error))
}

/// Reads frames one by one, up to a number of bytes.
pub(crate) struct FrameReader {
    decoder: Decoder,
    room: usize,
}

impl FrameReader {
    pub(crate) fn new(room: usize) -> Self {
        Self { decoder: Decoder::default(), room }
    }

    pub(crate) async fn next(&mut self, receive: &mut RecvStream) -> Result<Frame, TransportError> {
        let mut buffer = [0; 4096];
        loop {
            if let Some(frame) = self.decoder.next_frame().map_err(SyncError::from)? {
                return Ok(frame);
            }
            let count = AsyncReadExt::read(receive, &mut buffer).await.map_err(|error| broken(&error))?;
            if count == 0 {
                return Err(TransportError::Broken { reason: "the other device closed the stream".to_owned() });
            }
            self.room = self.room.checked_sub(count).ok_or_else(|| SyncError::RefusedPeer {
                device: "that asks to join".to_owned(),
                code: RefuseCode::Broken,
            })?;
            self.decoder.push(&buffer[..count]);
        }
    }
}

pub(crate) fn broken(error: &(dyn std::error::Error + 'static)) -> TransportError {
    TransportError::Broken { reason: chain(error) }
}

/// Writes an error with its causes, without repeating what a cause says again.
pub(crate) fn chain(error: &(dyn std::error::Error + 'static)) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        let more = next.to_string();
        if !text.contains(&more) {
            text = format!("{text}: {more}");
        }
        cause = next.source();
    }
    text
}

fn list(addresses: &[SocketAddr]) -> String {
    addresses.iter().map(SocketAddr::to_string).collect::<Vec<_>>().join(", ")
}

fn is_link_local(address: &SocketAddr) -> bool {
    match address.ip() {
        std::net::IpAddr::V4(ip) => Ipv4Addr::is_link_local(&ip),
        // Of no use without the interface's number.
        std::net::IpAddr::V6(ip) => Ipv6Addr::is_unicast_link_local(&ip),
    }
}

fn transport_config() -> QuicTransportConfig {
    QuicTransportConfig::builder()
        .max_concurrent_bidi_streams(VarInt::from_u32(STREAMS))
        .max_concurrent_uni_streams(VarInt::from_u32(0))
        .max_idle_timeout(IDLE.try_into().ok())
        .keep_alive_interval(IDLE / 4)
        .stream_receive_window(VarInt::from_u32(WINDOW))
        .receive_window(VarInt::from_u32(STREAMS * WINDOW))
        .send_window(u64::from(STREAMS * WINDOW))
        .datagram_receive_buffer_size(None)
        .build()
}
