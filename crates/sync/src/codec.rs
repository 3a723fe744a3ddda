//! Frames as bytes: length, version, kind, check sum, payload; with limits on everything.
//!
//! ```text
//! u32 LE  length of what follows (6 + payload)
//! u8      version, now 1
//! u8      kind
//! u32 LE  CRC-32 over version, kind, payload
//! payload postcard, except `changes` and bytes of a photo
//! ```

use ligule_observation::ids::DocId;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::frame::{Changes, Frame, Hello};

/// The version of the frames that this program speaks.
pub const VERSION: u8 = 1;
/// The longest frame, in bytes.
pub const MAX_FRAME: usize = 1 << 20;
/// The most that one frame of changes may inflate to, in bytes.
pub const MAX_INFLATED: usize = 8 << 20;
/// The longest single change, in bytes: compressed at its worst it still fits into one frame.
pub const MAX_CHANGE: usize = 1_000_000;
/// The most that one document's changes may inflate to in one exchange, in bytes.
pub const MAX_DOCUMENT: usize = 64 << 20;

const HEAD: usize = 6;
const CHANGES_HEAD: usize = 16 + 1 + 4 + 4;

/// Why bytes are no frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CodecError {
    /// Another version of the protocol.
    #[error(
        "the other side speaks sync version {got}, this program {known}: needs ligule that speaks the same; update the older one"
    )]
    Version {
        /// What came.
        got: u8,
        /// What this program speaks.
        known: u8,
    },
    /// Too long.
    #[error("expected a frame of {least} to {most} bytes, got one of {size}", least = HEAD, most = MAX_FRAME)]
    Length {
        /// The length that it claims.
        size: usize,
    },
    /// The check sum does not match.
    #[error("the check sum of a frame does not match: its bytes were damaged on the way")]
    CheckSum,
    /// A kind that this version does not have.
    #[error("expected a frame kind of 0 to 18, got {kind}")]
    Kind {
        /// What came.
        kind: u8,
    },
    /// The payload does not fit its kind.
    #[error("a frame of kind {kind} does not decode: {reason}")]
    Payload {
        /// The kind.
        kind: u8,
        /// Why.
        reason: String,
    },
    /// Changes that exceed a limit or do not inflate as announced.
    #[error("a frame of changes is bad: {reason}")]
    Inflate {
        /// How.
        reason: String,
    },
}

/// Encodes a frame.
///
/// # Errors
/// [`CodecError::Length`] if it would be longer than [`MAX_FRAME`].
pub fn encode(frame: &Frame) -> Result<Vec<u8>, CodecError> {
    let mut bytes = vec![0, 0, 0, 0, VERSION, 0, 0, 0, 0, 0];
    let kind = match frame {
        Frame::Hello(body) => {
            let kind = put(&mut bytes, 0, body)?;
            if let Some(at) = &body.at {
                put(&mut bytes, kind, &(at, body.photos))?;
            }
            kind
        }
        Frame::Entries(body) => put(&mut bytes, 1, body)?,
        Frame::Digest(body) => put(&mut bytes, 2, body)?,
        Frame::Inventory(body) => put(&mut bytes, 3, body)?,
        Frame::Have(body) => put(&mut bytes, 4, body)?,
        Frame::Changes(body) => {
            bytes.extend_from_slice(&body.doc.0);
            bytes.push(u8::from(body.last));
            bytes.extend_from_slice(&body.count.to_le_bytes());
            bytes.extend_from_slice(&body.inflated.to_le_bytes());
            bytes.extend_from_slice(&body.packed);
            5
        }
        Frame::Ack(body) => put(&mut bytes, 6, body)?,
        Frame::Refuse(body) => put(&mut bytes, 7, body)?,
        Frame::Bye(body) => put(&mut bytes, 8, body)?,
        Frame::JoinAsk(body) => put(&mut bytes, 9, body)?,
        Frame::JoinAccept(body) => put(&mut bytes, 10, body)?,
        Frame::BundleHeader(body) => put(&mut bytes, 11, body)?,
        Frame::BundleSeal(body) => put(&mut bytes, 12, body)?,
        Frame::BundleTrailer(body) => put(&mut bytes, 13, body)?,
        Frame::PhotosWanted(body) => put(&mut bytes, 14, body)?,
        Frame::Photo(body) => put(&mut bytes, 15, body)?,
        Frame::PhotoBytes(body) => {
            bytes.extend_from_slice(body);
            16
        }
        Frame::PhotoDone(body) => put(&mut bytes, 17, body)?,
        Frame::PhotosEnd(body) => put(&mut bytes, 18, body)?,
        Frame::Clock(at) => put(&mut bytes, 19, at)?,
    };
    let length = bytes.len() - 4;
    if length > MAX_FRAME {
        return Err(CodecError::Length { size: length });
    }
    bytes[5] = kind;
    let crc = check_sum(VERSION, kind, &bytes[4 + HEAD..]);
    bytes[..4].copy_from_slice(&u32::try_from(length).expect("checked above").to_le_bytes());
    bytes[6..10].copy_from_slice(&crc.to_le_bytes());
    Ok(bytes)
}

fn put<T: Serialize>(bytes: &mut Vec<u8>, kind: u8, body: &T) -> Result<u8, CodecError> {
    let payload = postcard::to_stdvec(body).map_err(|error| CodecError::Payload { kind, reason: error.to_string() })?;
    bytes.extend_from_slice(&payload);
    Ok(kind)
}

fn check_sum(version: u8, kind: u8, payload: &[u8]) -> u32 {
    let mut hasher = crc32fast::Hasher::new();
    hasher.update(&[version, kind]);
    hasher.update(payload);
    hasher.finalize()
}

/// Reads one frame from the front of `bytes`: the frame and how many bytes it took, or nothing yet.
///
/// # Errors
/// Any [`CodecError`].
pub fn decode(bytes: &[u8]) -> Result<Option<(Frame, usize)>, CodecError> {
    let Some((length, rest)) = bytes.split_first_chunk::<4>() else { return Ok(None) };
    let length = u32::from_le_bytes(*length) as usize;
    if !(HEAD..=MAX_FRAME).contains(&length) {
        return Err(CodecError::Length { size: length });
    }
    // The version is judged as soon as it is there: a newer frame may be longer than this program waits for.
    if rest.first().is_some_and(|&version| version != VERSION) {
        return Err(CodecError::Version { got: rest[0], known: VERSION });
    }
    let Some(body) = rest.get(..length) else { return Ok(None) };
    let kind = body[1];
    let crc = u32::from_le_bytes([body[2], body[3], body[4], body[5]]);
    let payload = &body[HEAD..];
    if check_sum(body[0], kind, payload) != crc {
        return Err(CodecError::CheckSum);
    }
    let frame = match kind {
        0 => Frame::Hello(get_hello(payload)?),
        1 => Frame::Entries(get(kind, payload)?),
        2 => Frame::Digest(get(kind, payload)?),
        3 => Frame::Inventory(get(kind, payload)?),
        4 => Frame::Have(get(kind, payload)?),
        5 => Frame::Changes(get_changes(payload)?),
        6 => Frame::Ack(get(kind, payload)?),
        7 => Frame::Refuse(get(kind, payload)?),
        8 => Frame::Bye(get(kind, payload)?),
        9 => Frame::JoinAsk(get(kind, payload)?),
        10 => Frame::JoinAccept(get(kind, payload)?),
        11 => Frame::BundleHeader(get(kind, payload)?),
        12 => Frame::BundleSeal(get(kind, payload)?),
        13 => Frame::BundleTrailer(get(kind, payload)?),
        14 => Frame::PhotosWanted(get(kind, payload)?),
        15 => Frame::Photo(get(kind, payload)?),
        16 => Frame::PhotoBytes(payload.to_vec()),
        17 => Frame::PhotoDone(get(kind, payload)?),
        18 => Frame::PhotosEnd(get(kind, payload)?),
        19 => Frame::Clock(get(kind, payload)?),
        _ => return Err(CodecError::Kind { kind }),
    };
    Ok(Some((frame, 4 + length)))
}

fn get<T: DeserializeOwned>(kind: u8, payload: &[u8]) -> Result<T, CodecError> {
    let bad = |reason: String| CodecError::Payload { kind, reason };
    match postcard::take_from_bytes(payload) {
        Ok((body, [])) => Ok(body),
        Ok((_, rest)) => Err(bad(format!("{} bytes too many", rest.len()))),
        Err(error) => Err(bad(error.to_string())),
    }
}

/// Reads a hello. What stands at its end came later: earlier programs do not tell it, and what later ones tell there is
/// passed over.
fn get_hello(payload: &[u8]) -> Result<Hello, CodecError> {
    let bad = |error: postcard::Error| CodecError::Payload { kind: 0, reason: error.to_string() };
    let (mut hello, rest): (Hello, _) = postcard::take_from_bytes(payload).map_err(bad)?;
    if !rest.is_empty() {
        let (at, rest) = postcard::take_from_bytes(rest).map_err(bad)?;
        hello.at = Some(at);
        if !rest.is_empty() {
            hello.photos = postcard::take_from_bytes(rest).map_err(bad)?.0;
        }
    }
    Ok(hello)
}

fn get_changes(payload: &[u8]) -> Result<Changes, CodecError> {
    let bad = |reason: &str| CodecError::Payload { kind: 5, reason: reason.to_owned() };
    let (head, packed) = payload.split_first_chunk::<CHANGES_HEAD>().ok_or_else(|| bad("too short"))?;
    let mut doc = [0; 16];
    doc.copy_from_slice(&head[..16]);
    let last = match head[16] {
        0 => false,
        1 => true,
        _ => return Err(bad("the mark of the last part is neither 0 nor 1")),
    };
    let number = |at: usize| u32::from_le_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]);
    Ok(Changes { doc: DocId(doc), last, count: number(17), inflated: number(21), packed: packed.to_vec() })
}

/// Takes bytes as they arrive and gives frames.
#[derive(Debug, Default)]
pub struct Decoder {
    buffer: Vec<u8>,
    start: usize,
}

impl Decoder {
    /// Adds bytes that arrived.
    pub fn push(&mut self, bytes: &[u8]) {
        if self.start > 0 {
            self.buffer.drain(..self.start);
            self.start = 0;
        }
        self.buffer.extend_from_slice(bytes);
    }

    /// Returns the next whole frame, or none until more bytes arrive.
    ///
    /// # Errors
    /// Any [`CodecError`]; the stream is then of no further use.
    pub fn next_frame(&mut self) -> Result<Option<Frame>, CodecError> {
        Ok(decode(&self.buffer[self.start..])?.map(|(frame, used)| {
            self.start += used;
            frame
        }))
    }

    /// Returns whether the bytes so far end at the end of a frame.
    pub fn is_clean(&self) -> bool {
        self.start == self.buffer.len()
    }
}

/// Packs one document's changes into as few frames as the limits allow; without changes, into one that says so.
///
/// # Errors
/// The size of a change that is longer than [`MAX_CHANGE`].
pub fn pack(doc: DocId, changes: &[Vec<u8>]) -> Result<Vec<Changes>, usize> {
    let mut frames = Vec::new();
    let mut raw = Vec::new();
    let mut count = 0;
    for change in changes {
        if change.len() > MAX_CHANGE {
            return Err(change.len());
        }
        if raw.len() + 4 + change.len() > MAX_CHANGE + 4 {
            frames.push(compress(doc, &raw, count));
            raw.clear();
            count = 0;
        }
        raw.extend_from_slice(&u32::try_from(change.len()).expect("checked above").to_le_bytes());
        raw.extend_from_slice(change);
        count += 1;
    }
    if count > 0 || frames.is_empty() {
        frames.push(compress(doc, &raw, count));
    }
    if let Some(last) = frames.last_mut() {
        last.last = true;
    }
    Ok(frames)
}

fn compress(doc: DocId, raw: &[u8], count: u32) -> Changes {
    let packed = if raw.is_empty() {
        Vec::new()
    } else {
        zstd::bulk::compress(raw, 3).expect("zstd compresses any bytes that fit into memory")
    };
    Changes { doc, last: false, count, inflated: u32::try_from(raw.len()).expect("at most 8 MiB"), packed }
}

/// Unpacks a frame of changes.
///
/// # Errors
/// [`CodecError::Inflate`] if it exceeds a limit or is not what it announces.
pub fn unpack(frame: &Changes) -> Result<Vec<Vec<u8>>, CodecError> {
    let bad = |reason: String| CodecError::Inflate { reason };
    let inflated = frame.inflated as usize;
    if inflated > MAX_INFLATED {
        return Err(bad(format!("it would inflate to {inflated} bytes; the limit is {MAX_INFLATED}")));
    }
    if inflated == 0 {
        return if frame.count == 0 && frame.packed.is_empty() {
            Ok(Vec::new())
        } else {
            Err(bad("it announces no bytes and brings some".to_owned()))
        };
    }
    let raw = zstd::bulk::decompress(&frame.packed, inflated).map_err(|error| bad(error.to_string()))?;
    if raw.len() != inflated {
        return Err(bad(format!("it announces {inflated} bytes and holds {}", raw.len())));
    }
    let mut changes = Vec::new();
    let mut rest = raw.as_slice();
    while !rest.is_empty() {
        let (length, after) =
            rest.split_first_chunk::<4>().ok_or_else(|| bad("a change's length is cut off".to_owned()))?;
        let length = u32::from_le_bytes(*length) as usize;
        if length == 0 || length > MAX_CHANGE {
            return Err(bad(format!("a change of {length} bytes; it must have 1 to {MAX_CHANGE}")));
        }
        let change = after.get(..length).ok_or_else(|| bad("a change is cut off".to_owned()))?;
        changes.push(change.to_vec());
        rest = &after[length..];
    }
    if changes.len() != frame.count as usize {
        return Err(bad(format!("it announces {} changes and holds {}", frame.count, changes.len())));
    }
    Ok(changes)
}
