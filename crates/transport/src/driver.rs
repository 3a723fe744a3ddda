//! Drives an exchange over any pair of byte streams.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use ligule_sync::codec::{self, Decoder};
use ligule_sync::{Session, Store, SyncError, SyncReport};
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::time::{sleep, timeout};

use crate::error::TransportError;

/// A store that several exchanges and the rest of the program share. It is locked for one call at a time.
pub type SharedStore = Arc<Mutex<dyn Store + Send>>;

/// How long the other device may be silent: it may be applying a large document on a slow card.
const SILENCE: Duration = Duration::from_secs(120);
/// How long a closing side waits for the other to have read its last words.
const LINGER: Duration = Duration::from_secs(2);
/// Small frames are sent together up to this many bytes.
const BATCH: usize = 64 << 10;

/// Runs one exchange to its end over a pair of streams, and returns what it did.
///
/// Reading and writing go on at the same time, so neither side can block the other; changes are read from the
/// store only as fast as the other device takes them.
///
/// # Errors
/// When the stream breaks, the other device falls silent or refuses, or the exchange fails. What was acknowledged
/// before is durable on both sides.
pub async fn run_session<R, W>(
    mut reader: R,
    mut writer: W,
    session: Session,
    store: SharedStore,
) -> Result<SyncReport, TransportError>
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin,
{
    let mut running =
        Running { session: Some(session), store, decoder: Decoder::default(), out: Vec::new(), written: 0 };
    let result = running.exchange(&mut reader, &mut writer).await;
    if result.is_err()
        && let Some(frame) = running.session.as_mut().and_then(Session::farewell)
        && let Ok(bytes) = codec::encode(&frame)
    {
        // The other side may be gone already; then nobody needs these words.
        let _ = timeout(LINGER, writer.write_all(&bytes)).await;
    }
    let _ = timeout(LINGER, writer.shutdown()).await;
    let _ = timeout(LINGER, drain(&mut reader)).await;
    result?;
    let session = running.session.ok_or(TransportError::StorePanicked)?;
    Ok(session.report().clone())
}

async fn drain(reader: &mut (impl AsyncRead + Unpin)) {
    let mut rest = [0; 1024];
    while matches!(reader.read(&mut rest).await, Ok(n) if n > 0) {}
}

struct Running {
    /// Absent only while a blocking thread has it, or after that thread panicked.
    session: Option<Session>,
    store: SharedStore,
    decoder: Decoder,
    out: Vec<u8>,
    written: usize,
}

impl Running {
    async fn exchange(
        &mut self,
        reader: &mut (impl AsyncRead + Unpin),
        writer: &mut (impl AsyncWrite + Unpin),
    ) -> Result<(), TransportError> {
        let mut buffer = vec![0; BATCH];
        loop {
            if self.written == self.out.len() {
                self.refill().await?;
            }
            let nothing_left = self.written == self.out.len();
            if nothing_left {
                writer.flush().await.map_err(|error| broken(&error))?;
                if self.session.as_ref().is_some_and(Session::is_done) {
                    return Ok(());
                }
            }
            tokio::select! {
                read = reader.read(&mut buffer) => match read {
                    Ok(0) => return Err(TransportError::Broken { reason: "the other device closed the stream".to_owned() }),
                    Ok(count) => self.arrived(&buffer[..count]).await?,
                    Err(error) => return Err(broken(&error)),
                },
                wrote = writer.write(&self.out[self.written..]), if !nothing_left => match wrote {
                    Ok(count) => {
                        self.written += count;
                        self.count(0, count);
                    }
                    Err(error) => return Err(broken(&error)),
                },
                () = sleep(SILENCE) => return Err(TransportError::Silent { waited: SILENCE }),
            }
        }
    }

    fn count(&mut self, received: usize, sent: usize) {
        if let Some(session) = &mut self.session {
            session.count_bytes(received as u64, sent as u64);
        }
    }

    /// Takes the next frames to send from the session.
    async fn refill(&mut self) -> Result<(), TransportError> {
        self.written = 0;
        self.out = self
            .blocking(|session, store| {
                let mut out = Vec::new();
                while out.len() < BATCH
                    && let Some(frame) = session.next_frame(store)?
                {
                    out.extend(codec::encode(&frame)?);
                }
                Ok(out)
            })
            .await?;
        Ok(())
    }

    async fn arrived(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.count(bytes.len(), 0);
        self.decoder.push(bytes);
        loop {
            match self.decoder.next_frame() {
                Ok(None) => return Ok(()),
                Ok(Some(frame)) => self.blocking(move |session, store| session.receive(frame, store)).await?,
                Err(error) => {
                    let session = self.session.as_mut().ok_or(TransportError::StorePanicked)?;
                    return Err(session.receive_broken(error).into());
                }
            }
        }
    }

    /// Calls the session with the store on a thread that may block.
    async fn blocking<T: Send + 'static>(
        &mut self,
        call: impl FnOnce(&mut Session, &mut dyn Store) -> Result<T, SyncError> + Send + 'static,
    ) -> Result<T, TransportError> {
        let mut session = self.session.take().ok_or(TransportError::StorePanicked)?;
        let store = Arc::clone(&self.store);
        let work = tokio::task::spawn_blocking(move || {
            let result = store.lock().map(|mut store| call(&mut session, &mut *store)).ok();
            (session, result)
        });
        let (session, result) = work.await.map_err(|_| TransportError::StorePanicked)?;
        self.session = Some(session);
        Ok(result.ok_or(TransportError::StorePanicked)??)
    }
}

fn broken(error: &std::io::Error) -> TransportError {
    TransportError::Broken { reason: error.to_string() }
}
