//! Answering other devices.

use std::future::Future;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use iroh::endpoint::{Connection, Incoming, VarInt};
use ligule_sync::frame::RefuseCode;
use ligule_sync::ids::DeviceId;
use ligule_sync::join::InviteDesk;
use ligule_sync::{Frame, Role, SyncError, join};
use tokio::sync::Semaphore;
use tokio::sync::mpsc::UnboundedSender;
use tokio::task::JoinSet;
use tokio::time::timeout;

use crate::driver::Stores;
use crate::error::TransportError;
use crate::node::{Exchanged, FrameReader, Node, binding, broken, send_frames};
use crate::{JOIN_ALPN, SYNC_ALPN};

/// An invite desk that the rest of the program shares.
pub type SharedDesk = Arc<Mutex<dyn InviteDesk + Send>>;

/// How many devices are answered at once; more wait.
const AT_ONCE: usize = 16;
/// The most bytes that a device may send to ask for admission.
const MAX_ASK: usize = 4096;
/// How long a device may take to ask for admission.
const ASK: Duration = Duration::from_secs(10);
/// How long running exchanges may go on once the node is to stop.
const GRACE: Duration = Duration::from_secs(10);

/// What a node serves.
#[derive(Clone)]
pub struct Service {
    /// The documents, and the photos.
    pub stores: Stores,
    /// Open invitations; none refuses every join.
    pub desk: Option<SharedDesk>,
    /// Told what happens; nobody need listen.
    pub events: UnboundedSender<ServeEvent>,
}

/// What happened while serving.
#[derive(Debug)]
pub enum ServeEvent {
    /// An exchange came to its end.
    Synced {
        /// With whom.
        device: DeviceId,
        /// What it did.
        exchanged: Exchanged,
    },
    /// A device was admitted.
    Joined {
        /// Which.
        device: DeviceId,
        /// Who holds it.
        person: String,
        /// By how many milliseconds its clock is ahead of this one's (negative: behind), where it said so.
        clock_ahead: Option<i64>,
    },
    /// A device was refused; it got nothing but the code.
    Refused {
        /// Which.
        device: DeviceId,
        /// The code.
        code: RefuseCode,
    },
    /// An exchange or a join failed.
    Failed {
        /// With whom, if the handshake came that far.
        device: Option<DeviceId>,
        /// Why.
        error: TransportError,
    },
}

impl Node {
    /// Answers devices until `until` is ready, then lets running exchanges end (up to 10 s).
    ///
    /// A device that is no member gets a refusal and nothing else; one that somebody else has admitted may first show
    /// the membership entries that prove it.
    pub async fn serve(&self, service: Service, until: impl Future<Output = ()>) {
        let mut running = JoinSet::new();
        let places = Arc::new(Semaphore::new(AT_ONCE));
        let joins = Arc::new(Semaphore::new(1));
        tokio::pin!(until);
        loop {
            tokio::select! {
                () = &mut until => break,
                Some(_) = running.join_next(), if !running.is_empty() => {}
                incoming = self.endpoint.accept() => {
                    let Some(incoming) = incoming else { break };
                    let answer = Answer { node: self.clone(), service: service.clone(), joins: Arc::clone(&joins) };
                    let places = Arc::clone(&places);
                    running.spawn(async move {
                        // The semaphore is never closed.
                        if let Ok(_place) = places.acquire().await {
                            answer.incoming(incoming).await;
                        }
                    });
                }
            }
        }
        let _ = timeout(GRACE, async { while running.join_next().await.is_some() {} }).await;
    }
}

struct Answer {
    node: Node,
    service: Service,
    joins: Arc<Semaphore>,
}

impl Answer {
    fn tell(&self, event: ServeEvent) {
        // Nobody need listen.
        let _ = self.service.events.send(event);
    }

    async fn incoming(&self, incoming: Incoming) {
        let connection = match timeout(ASK, incoming).await {
            Ok(Ok(connection)) => connection,
            Ok(Err(error)) => {
                // Also a member that tries this address for another device.
                tracing::debug!(%error, "a handshake came to nothing");
                return;
            }
            Err(_) => return,
        };
        let device = DeviceId(*connection.remote_id().as_bytes());
        let result = match connection.alpn() {
            SYNC_ALPN => self.sync(&connection).await.map(|exchanged| ServeEvent::Synced { device, exchanged }),
            JOIN_ALPN => self.join(&connection, device).await,
            _ => return connection.close(VarInt::from_u32(1), b"unknown protocol"),
        };
        self.tell(match result {
            Ok(event) => event,
            Err(TransportError::Sync(SyncError::RefusedPeer { code, .. })) => ServeEvent::Refused { device, code },
            Err(error) => ServeEvent::Failed { device: Some(device), error },
        });
        // The dialling side closes; it has then read everything.
        let _ = timeout(GRACE / 5, connection.closed()).await;
        connection.close(VarInt::from_u32(0), b"done");
    }

    async fn sync(&self, connection: &Connection) -> Result<Exchanged, TransportError> {
        self.node.sync_over(connection, Role::Responder, self.service.stores.clone()).await
    }

    /// Admits one device at a time.
    async fn join(&self, connection: &Connection, device: DeviceId) -> Result<ServeEvent, TransportError> {
        let _turn = self.joins.acquire().await;
        let binding = binding(connection)?;
        let stream = timeout(ASK, connection.accept_bi()).await;
        let (mut send, mut receive) =
            stream.map_err(|_| TransportError::Silent { waited: ASK })?.map_err(|error| broken(&error))?;
        let mut frames = FrameReader::new(MAX_ASK);
        let ask = match timeout(ASK, frames.next(&mut receive)).await {
            Ok(Ok(Frame::JoinAsk(ask))) => ask,
            Ok(Ok(other)) => {
                send_frames(&mut send, &[Frame::Refuse(RefuseCode::Broken)]).await?;
                return Err(SyncError::Unexpected { expected: "a join request", got: other.name() }.into());
            }
            Ok(Err(error)) => return Err(error),
            Err(_) => return Err(TransportError::Silent { waited: ASK }),
        };
        let clock_ahead = self.node.clock_ahead(&mut frames, &mut receive).await;
        let person = ask.person.clone();
        let Some(desk) = self.service.desk.clone() else {
            send_frames(&mut send, &[Frame::Refuse(RefuseCode::Ticket), Frame::Clock(self.node.now())]).await?;
            return Err(SyncError::RefusedPeer { device: device.to_string(), code: RefuseCode::Ticket }.into());
        };
        let (key, now) = (self.node.key.clone(), self.node.now());
        let work = tokio::task::spawn_blocking(move || {
            let mut desk = desk.lock().map_err(|_| TransportError::StorePanicked)?;
            Ok::<_, TransportError>(join::admit(&ask, &device, &binding, &key, now, &mut *desk))
        });
        match work.await.map_err(|_| TransportError::StorePanicked)?? {
            Ok(mut answer) => {
                answer.push(Frame::Clock(self.node.now()));
                send_frames(&mut send, &answer).await?;
                Ok(ServeEvent::Joined { device, person, clock_ahead })
            }
            Err((code, error)) => {
                tracing::info!(%device, %error, "refused to admit a device");
                send_frames(&mut send, &[Frame::Refuse(code), Frame::Clock(self.node.now())]).await?;
                Err(SyncError::RefusedPeer { device: device.to_string(), code }.into())
            }
        }
    }
}
