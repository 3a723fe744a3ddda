//! Reads a change chunk from outside just far enough to know that the merge library can be trusted with it.
//!
//! The library inflates without a limit and follows run lengths of any size, so both are checked here first, without it.

use std::io::Read;

use crate::outside::{Limits, Refused};

const MAGIC: [u8; 4] = [0x85, 0x6f, 0x4a, 0x83];
const CHANGE: u8 = 1;
const DEFLATED_CHANGE: u8 = 2;

/// Returns the chunk as a plain (not deflated) change chunk, within the limits.
pub(crate) fn plain_change(chunk: &[u8], limits: &Limits) -> Result<Vec<u8>, Refused> {
    if chunk.len() > limits.change_bytes {
        return Err(Refused::TooLarge { what: "a change", limit: limits.change_bytes });
    }
    let mut rest = chunk;
    let magic = take(&mut rest, 4)?;
    let checksum = take(&mut rest, 4)?;
    let kind = take(&mut rest, 1)?[0];
    let length = usize::try_from(unsigned(&mut rest)?).map_err(|_| malformed("a length is out of range"))?;
    if magic != MAGIC || length != rest.len() {
        return Err(malformed("it is not exactly one chunk"));
    }
    match kind {
        CHANGE => {
            if rest.len() > limits.inflated_bytes {
                return Err(Refused::TooLarge { what: "a change", limit: limits.inflated_bytes });
            }
            check_runs(rest, limits)?;
            Ok(chunk.to_vec())
        }
        DEFLATED_CHANGE => {
            let mut body = Vec::new();
            let cap = limits.inflated_bytes as u64 + 1;
            flate2::read::DeflateDecoder::new(rest)
                .take(cap)
                .read_to_end(&mut body)
                .map_err(|e| malformed(&format!("it does not inflate: {e}")))?;
            if body.len() > limits.inflated_bytes {
                return Err(Refused::TooLarge { what: "an inflated change", limit: limits.inflated_bytes });
            }
            check_runs(&body, limits)?;
            let mut plain = Vec::with_capacity(body.len() + 16);
            plain.extend_from_slice(&MAGIC);
            plain.extend_from_slice(checksum);
            plain.push(CHANGE);
            write_unsigned(&mut plain, body.len() as u64);
            plain.extend_from_slice(&body);
            Ok(plain)
        }
        other => Err(Refused::NotAChange { chunk_type: other }),
    }
}

/// Returns the four bytes by which a chunk claims to be checked.
pub(crate) fn checksum(plain: &[u8]) -> [u8; 4] {
    [plain[4], plain[5], plain[6], plain[7]]
}

/// Refuses a change whose columns claim more operations than the limit.
fn check_runs(body: &[u8], limits: &Limits) -> Result<(), Refused> {
    let mut rest = body;
    let deps = unsigned(&mut rest)?;
    for _ in 0..deps {
        take(&mut rest, 32)?;
    }
    skip_prefixed(&mut rest)?; // actor
    unsigned(&mut rest)?; // sequence
    unsigned(&mut rest)?; // first operation
    signed(&mut rest)?; // time
    skip_prefixed(&mut rest)?; // message
    for _ in 0..unsigned(&mut rest)? {
        skip_prefixed(&mut rest)?; // other actors
    }
    let count = unsigned(&mut rest)?;
    let mut columns = Vec::new();
    for _ in 0..count {
        columns.push((unsigned(&mut rest)?, unsigned(&mut rest)?));
    }
    for (spec, length) in columns {
        let length = usize::try_from(length).map_err(|_| malformed("a length is out of range"))?;
        let column = take(&mut rest, length)?;
        let items = match spec & 0b111 {
            _ if spec & 0b1000 != 0 => return Err(malformed("a column is deflated")),
            // group, actor, integer, value metadata: runs of unsigned numbers
            0 | 1 | 2 | 6 => run_items(column, |rest| unsigned(rest).map(|_| ()))?,
            3 => run_items(column, |rest| signed(rest).map(|_| ()))?,
            4 => boolean_items(column)?,
            5 => run_items(column, skip_prefixed)?,
            _ => 0, // raw value bytes; as long as they are
        };
        if items > limits.operations {
            return Err(Refused::TooLarge { what: "the number of operations in a change", limit: limits.operations });
        }
        // A group column tells how many entries of the next columns belong to each operation: their sum counts.
        if spec & 0b111 == 0 && group_sum(column)? > limits.operations as u64 {
            return Err(Refused::TooLarge { what: "the number of operations in a change", limit: limits.operations });
        }
    }
    Ok(())
}

fn run_items(mut column: &[u8], skip: impl Fn(&mut &[u8]) -> Result<(), Refused>) -> Result<usize, Refused> {
    let mut items = 0usize;
    while !column.is_empty() {
        let count = signed(&mut column)?;
        let length = match count {
            0 => unsigned(&mut column)?,
            n if n > 0 => {
                skip(&mut column)?;
                n as u64
            }
            n => {
                for _ in 0..n.unsigned_abs() {
                    skip(&mut column)?;
                }
                n.unsigned_abs()
            }
        };
        items = items.saturating_add(usize::try_from(length).unwrap_or(usize::MAX));
    }
    Ok(items)
}

fn group_sum(mut column: &[u8]) -> Result<u64, Refused> {
    let mut sum = 0u64;
    while !column.is_empty() {
        match signed(&mut column)? {
            0 => {
                unsigned(&mut column)?;
            }
            n if n > 0 => sum = sum.saturating_add(unsigned(&mut column)?.saturating_mul(n as u64)),
            n => {
                for _ in 0..n.unsigned_abs() {
                    sum = sum.saturating_add(unsigned(&mut column)?);
                }
            }
        }
    }
    Ok(sum)
}

fn boolean_items(mut column: &[u8]) -> Result<usize, Refused> {
    let mut items = 0usize;
    while !column.is_empty() {
        items = items.saturating_add(usize::try_from(unsigned(&mut column)?).unwrap_or(usize::MAX));
    }
    Ok(items)
}

fn malformed(why: &str) -> Refused {
    Refused::Malformed { why: why.to_owned() }
}

fn take<'a>(rest: &mut &'a [u8], n: usize) -> Result<&'a [u8], Refused> {
    let (head, tail) = rest.split_at_checked(n).ok_or_else(|| malformed("it ends too early"))?;
    *rest = tail;
    Ok(head)
}

fn skip_prefixed(rest: &mut &[u8]) -> Result<(), Refused> {
    let length = usize::try_from(unsigned(rest)?).map_err(|_| malformed("a length is out of range"))?;
    take(rest, length).map(|_| ())
}

/// Reads an unsigned LEB128 number.
fn unsigned(rest: &mut &[u8]) -> Result<u64, Refused> {
    let mut value = 0u64;
    for shift in (0..64).step_by(7) {
        let byte = take(rest, 1)?[0];
        let bits = u64::from(byte & 0x7f);
        if shift == 63 && bits > 1 {
            break;
        }
        value |= bits << shift;
        if byte & 0x80 == 0 {
            return Ok(value);
        }
    }
    Err(malformed("a number is out of range"))
}

/// Reads a signed LEB128 number.
fn signed(rest: &mut &[u8]) -> Result<i64, Refused> {
    let mut value = 0i64;
    for shift in (0..64).step_by(7) {
        let byte = take(rest, 1)?[0];
        value |= i64::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            if byte & 0x40 != 0 && shift + 7 < 64 {
                value |= -1i64 << (shift + 7);
            }
            return Ok(value);
        }
    }
    Err(malformed("a number is out of range"))
}

fn write_unsigned(out: &mut Vec<u8>, mut value: u64) {
    loop {
        let byte = (value & 0x7f) as u8;
        value >>= 7;
        if value == 0 {
            out.push(byte);
            return;
        }
        out.push(byte | 0x80);
    }
}
