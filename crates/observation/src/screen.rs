//! Trying out bytes from outside in another process.
//!
//! A hang or running out of memory inside the merge library cannot be caught within a process. The parent writes a
//! [`ScreenRequest`] to a child that has limits on memory and time; the child runs [`screen`]; only after its
//! verdict is good does the parent apply the same changes itself. A child that dies or answers nothing has refused.

use std::io::{self, Read, Write};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    document::FieldDocument,
    ids::DocKey,
    outside::{Limits, apply_checked},
};

const MAGIC: &[u8; 8] = b"ligscr1\n";
/// The largest request that is read: 512 MiB.
const LARGEST: u64 = 512 << 20;

/// What is to be tried out: a document as it is and changes that came.
#[derive(Debug, Clone)]
pub struct ScreenRequest {
    /// The document's key.
    pub key: DocKey,
    /// The document, saved.
    pub snapshot: Vec<u8>,
    /// The changes that came.
    pub chunks: Vec<Vec<u8>>,
    /// The limits.
    pub limits: Limits,
    /// The time by which times are judged.
    pub now: Timestamp,
}

#[derive(Serialize, Deserialize)]
struct Header {
    key: DocKey,
    limits: Limits,
    now: Timestamp,
    snapshot: u64,
    chunks: Vec<u64>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Verdict {
    Good { changes: usize },
    Refused { why: String },
}

impl ScreenRequest {
    /// Tries the changes out in this process.
    ///
    /// *Errors:* the reason why they are refused.
    pub fn run(&self) -> Result<usize, String> {
        let document = FieldDocument::load(self.key.clone(), &self.snapshot, &[]).map_err(|e| e.to_string())?;
        let applied = apply_checked(&document, &self.chunks, &self.limits, self.now).map_err(|e| e.to_string())?;
        Ok(applied.chunks.len())
    }

    /// Writes the request for a child to read.
    pub fn write(&self, mut output: impl Write) -> io::Result<()> {
        let header = Header {
            key: self.key.clone(),
            limits: self.limits,
            now: self.now,
            snapshot: self.snapshot.len() as u64,
            chunks: self.chunks.iter().map(|c| c.len() as u64).collect(),
        };
        let header = serde_json::to_vec(&header)?;
        output.write_all(MAGIC)?;
        output.write_all(&(header.len() as u64).to_be_bytes())?;
        output.write_all(&header)?;
        output.write_all(&self.snapshot)?;
        self.chunks.iter().try_for_each(|c| output.write_all(c))?;
        output.flush()
    }

    /// Reads the next request that a parent wrote; none where it has no more.
    fn next(mut input: impl Read) -> io::Result<Option<Self>> {
        let mut first = [0];
        match input.read_exact(&mut first) {
            Ok(()) => Self::read(first.as_slice().chain(input)).map(Some),
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// Reads a request that a parent wrote.
    pub fn read(mut input: impl Read) -> io::Result<Self> {
        let bad = |why: &str| io::Error::new(io::ErrorKind::InvalidData, why.to_owned());
        let mut start = [0; 16];
        input.read_exact(&mut start)?;
        if &start[..8] != MAGIC {
            return Err(bad("not a request to try out changes"));
        }
        let mut length = [0; 8];
        length.copy_from_slice(&start[8..]);
        let header: Header = serde_json::from_slice(&exactly(&mut input, u64::from_be_bytes(length))?)?;
        let total = header.chunks.iter().try_fold(header.snapshot, |sum, n| sum.checked_add(*n));
        if total.is_none_or(|n| n > LARGEST) {
            return Err(bad("the request is too large"));
        }
        let snapshot = exactly(&mut input, header.snapshot)?;
        let chunks = header.chunks.iter().map(|n| exactly(&mut input, *n)).collect::<io::Result<_>>()?;
        Ok(Self { key: header.key, snapshot, chunks, limits: header.limits, now: header.now })
    }
}

fn exactly(input: &mut impl Read, length: u64) -> io::Result<Vec<u8>> {
    if length > LARGEST {
        return Err(io::Error::new(io::ErrorKind::InvalidData, "a part of the request is too large"));
    }
    let mut bytes = Vec::new();
    input.take(length).read_to_end(&mut bytes)?;
    if bytes.len() as u64 != length {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(bytes)
}

/// Reads a request, tries it out, writes the verdict as one line, and goes on with the next until there is none: what the
/// child process does.
pub fn screen(mut input: impl Read, mut output: impl Write) -> io::Result<()> {
    let mut request = Some(ScreenRequest::read(&mut input)?);
    while let Some(one) = request {
        let verdict = match one.run() {
            Ok(changes) => Verdict::Good { changes },
            Err(why) => Verdict::Refused { why },
        };
        serde_json::to_writer(&mut output, &verdict)?;
        output.write_all(b"\n")?;
        output.flush()?;
        request = ScreenRequest::next(&mut input)?;
    }
    Ok(())
}

/// Reads what a child answered; anything but a good verdict is a refusal with its reason.
pub fn read_verdict(answer: &[u8]) -> Result<(), String> {
    match serde_json::from_slice(answer) {
        Ok(Verdict::Good { .. }) => Ok(()),
        Ok(Verdict::Refused { why }) => Err(why),
        Err(_) => Err("the process that tried the changes out ended without a verdict".to_owned()),
    }
}
