//! Drives an exchange over any pair of byte streams.

use std::sync::{Arc, Mutex};
use std::time::Duration;

use ligule_sync::codec::{self, CodecError, Decoder};
use ligule_sync::{Frame, PhotoReport, PhotoSession, PhotoStore, Session, Store, SyncError, SyncReport};
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::time::{sleep, timeout};

use crate::error::TransportError;

/// A store that several exchanges and the rest of the program share. It is locked for one call at a time.
pub type SharedStore = Arc<Mutex<dyn Store + Send>>;

/// Opens a device's photos for one exchange.
pub type OpenPhotos = Arc<dyn Fn() -> Box<dyn PhotoStore + Send> + Send + Sync>;

/// What a device exchanges.
#[derive(Clone)]
pub struct Stores {
    /// The documents.
    pub records: SharedStore,
    /// The photos; none exchanges none.
    pub photos: Option<OpenPhotos>,
}

/// How long the other device may be silent: it may be applying a large document on a slow card.
const SILENCE: Duration = Duration::from_secs(120);
/// How long a closing side waits for the other to have read its last words.
const LINGER: Duration = Duration::from_secs(2);
/// Small frames are sent together up to this many bytes.
const BATCH: usize = 64 << 10;

/// Runs one exchange of records to its end over a pair of streams, and returns what it did.
///
/// Reading and writing go on at the same time, so neither side can block the other; changes are read from the
/// store only as fast as the other device takes them.
///
/// # Errors
/// When the stream breaks, the other device falls silent or refuses, or the exchange fails. What was acknowledged
/// before is durable on both sides.
pub async fn run_session<R, W>(
    reader: R,
    writer: W,
    session: Session,
    store: SharedStore,
) -> Result<SyncReport, TransportError>
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin,
{
    let (records, result) = run(reader, writer, Records { session, store }).await;
    result?;
    let records = records.ok_or(TransportError::StorePanicked)?;
    Ok(records.session.report().clone())
}

/// Runs one exchange of photos to its end over a pair of streams, and returns what it did.
///
/// Where it ended before its end, that is the last of [`PhotoReport::failures`]: what was kept until then stays.
pub async fn run_photos<R, W>(reader: R, writer: W, store: Box<dyn PhotoStore + Send>) -> PhotoReport
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin,
{
    let (photos, result) = run(reader, writer, Photos { session: PhotoSession::new(), store }).await;
    let mut report = photos.map(|photos| photos.session.report().clone()).unwrap_or_default();
    report.failures.extend(result.err().map(|error| error.to_string()));
    report
}

/// One device's half of a conversation, and the store that it is about. Its calls may block.
trait Half: Send + 'static {
    fn next_frame(&mut self) -> Result<Option<Frame>, TransportError>;
    fn receive(&mut self, frame: Frame) -> Result<(), TransportError>;
    fn receive_broken(&mut self, error: CodecError) -> SyncError;
    fn farewell(&mut self) -> Option<Frame>;
    fn is_done(&self) -> bool;
    fn count_bytes(&mut self, received: usize, sent: usize);
}

struct Records {
    session: Session,
    store: SharedStore,
}

impl Half for Records {
    fn next_frame(&mut self) -> Result<Option<Frame>, TransportError> {
        let mut store = self.store.lock().map_err(|_| TransportError::StorePanicked)?;
        Ok(self.session.next_frame(&mut *store)?)
    }

    fn receive(&mut self, frame: Frame) -> Result<(), TransportError> {
        let mut store = self.store.lock().map_err(|_| TransportError::StorePanicked)?;
        Ok(self.session.receive(frame, &mut *store)?)
    }

    fn receive_broken(&mut self, error: CodecError) -> SyncError {
        self.session.receive_broken(error)
    }

    fn farewell(&mut self) -> Option<Frame> {
        self.session.farewell()
    }

    fn is_done(&self) -> bool {
        self.session.is_done()
    }

    fn count_bytes(&mut self, received: usize, sent: usize) {
        self.session.count_bytes(received as u64, sent as u64);
    }
}

struct Photos {
    session: PhotoSession,
    store: Box<dyn PhotoStore + Send>,
}

impl Half for Photos {
    fn next_frame(&mut self) -> Result<Option<Frame>, TransportError> {
        Ok(self.session.next_frame(&mut *self.store)?)
    }

    fn receive(&mut self, frame: Frame) -> Result<(), TransportError> {
        Ok(self.session.receive(frame, &mut *self.store)?)
    }

    fn receive_broken(&mut self, error: CodecError) -> SyncError {
        self.session.receive_broken(error, &mut *self.store)
    }

    fn farewell(&mut self) -> Option<Frame> {
        self.session.farewell()
    }

    fn is_done(&self) -> bool {
        self.session.is_done()
    }

    /// The session counts the bytes of photos by itself; what is around them matters to nobody.
    fn count_bytes(&mut self, _: usize, _: usize) {}
}

async fn run<R, W, H>(mut reader: R, mut writer: W, half: H) -> (Option<H>, Result<(), TransportError>)
where
    R: AsyncRead + Unpin,
    W: AsyncWrite + Unpin,
    H: Half,
{
    let mut running = Running { half: Some(half), decoder: Decoder::default(), out: Vec::new(), written: 0 };
    let result = running.exchange(&mut reader, &mut writer).await;
    if result.is_err()
        && let Some(frame) = running.half.as_mut().and_then(Half::farewell)
        && let Ok(bytes) = codec::encode(&frame)
    {
        // The other side may be gone already; then nobody needs these words.
        let _ = timeout(LINGER, writer.write_all(&bytes)).await;
    }
    let _ = timeout(LINGER, writer.shutdown()).await;
    let _ = timeout(LINGER, drain(&mut reader)).await;
    (running.half, result)
}

async fn drain(reader: &mut (impl AsyncRead + Unpin)) {
    let mut rest = [0; 1024];
    while matches!(reader.read(&mut rest).await, Ok(n) if n > 0) {}
}

struct Running<H> {
    /// Absent only while a blocking thread has it, or after that thread panicked.
    half: Option<H>,
    decoder: Decoder,
    out: Vec<u8>,
    written: usize,
}

impl<H: Half> Running<H> {
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
                if self.half.as_ref().is_some_and(Half::is_done) {
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
        if let Some(half) = &mut self.half {
            half.count_bytes(received, sent);
        }
    }

    /// Takes the next frames to send from the session.
    async fn refill(&mut self) -> Result<(), TransportError> {
        self.written = 0;
        self.out = self
            .blocking(|half| {
                let mut out = Vec::new();
                while out.len() < BATCH
                    && let Some(frame) = half.next_frame()?
                {
                    out.extend(codec::encode(&frame).map_err(SyncError::from)?);
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
                Ok(Some(frame)) => self.blocking(move |half| half.receive(frame)).await?,
                Err(error) => {
                    let half = self.half.as_mut().ok_or(TransportError::StorePanicked)?;
                    return Err(half.receive_broken(error).into());
                }
            }
        }
    }

    /// Calls the session on a thread that may block.
    async fn blocking<T: Send + 'static>(
        &mut self,
        call: impl FnOnce(&mut H) -> Result<T, TransportError> + Send + 'static,
    ) -> Result<T, TransportError> {
        let mut half = self.half.take().ok_or(TransportError::StorePanicked)?;
        let work = tokio::task::spawn_blocking(move || {
            let result = call(&mut half);
            (half, result)
        });
        let (half, result) = work.await.map_err(|_| TransportError::StorePanicked)?;
        self.half = Some(half);
        result
    }
}

fn broken(error: &std::io::Error) -> TransportError {
    TransportError::Broken { reason: error.to_string() }
}
