//! Bytes as one line that survives being read aloud, typed, or printed as a QR code.

/// The 32 letters of BIP 173: no `1`, `b`, `i`, `o`, which people confuse.
const LETTERS: &[u8; 32] = b"qpzry9x8gf2tvdw0s3jn54khce6mua7l";
const SUM: usize = 4;

/// Why a text is not the line of bytes that it should be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TextError {
    /// It does not start as expected.
    #[error("expected a text that starts with `{prefix}`, got `{got}`")]
    Prefix {
        /// The expected start.
        prefix: &'static str,
        /// The start that came.
        got: String,
    },
    /// A letter that does not occur.
    #[error("`{letter}` at position {position} cannot occur: the letters are {letters}", letters = std::str::from_utf8(LETTERS).unwrap_or_default())]
    Letter {
        /// The letter.
        letter: char,
        /// Where, counted from 1, without blanks and hyphens.
        position: usize,
    },
    /// The check sum does not match.
    #[error("the check sum does not match: a letter is wrong or missing; copy the whole line again")]
    CheckSum,
}

/// Writes `bytes` as `prefix` and letters, with a check sum of 4 bytes.
pub fn to_line(prefix: &str, bytes: &[u8]) -> String {
    let mut all = bytes.to_vec();
    all.extend_from_slice(&blake3::hash(bytes).as_bytes()[..SUM]);
    let mut line = prefix.to_owned();
    let (mut held, mut bits) = (0_u32, 0);
    for byte in all {
        held = (held << 8) | u32::from(byte);
        bits += 8;
        while bits >= 5 {
            bits -= 5;
            line.push(char::from(LETTERS[(held >> bits) as usize & 31]));
        }
    }
    if bits > 0 {
        line.push(char::from(LETTERS[(held << (5 - bits)) as usize & 31]));
    }
    line
}

/// Reads what [`to_line`] wrote; capitals, blanks, line breaks and hyphens do no harm.
///
/// # Errors
/// A [`TextError`].
pub fn from_line(prefix: &'static str, line: &str) -> Result<Vec<u8>, TextError> {
    let plain: String =
        line.chars().filter(|c| !c.is_whitespace() && *c != '-').map(|c| c.to_ascii_lowercase()).collect();
    let letters = plain
        .strip_prefix(prefix)
        .ok_or_else(|| TextError::Prefix { prefix, got: plain.chars().take(prefix.len().max(8)).collect() })?;
    let mut bytes = Vec::new();
    let (mut held, mut bits) = (0_u32, 0);
    for (at, letter) in letters.chars().enumerate() {
        let value = LETTERS
            .iter()
            .position(|&known| char::from(known) == letter)
            .ok_or_else(|| TextError::Letter { letter, position: prefix.len() + at + 1 })?;
        held = (held << 5) | u32::try_from(value).expect("below 32");
        bits += 5;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits) as u8);
            held &= (1 << bits) - 1;
        }
    }
    // One spelling for one content: what is left over must be less than a letter, and zero.
    if bits >= 5 || held != 0 || bytes.len() < SUM {
        return Err(TextError::CheckSum);
    }
    let sum = bytes.split_off(bytes.len() - SUM);
    if blake3::hash(&bytes).as_bytes()[..SUM] != sum[..] {
        return Err(TextError::CheckSum);
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_come_back_whatever_their_length_and_spelling() {
        for length in 0..40_u8 {
            let bytes: Vec<u8> = (0..length).map(|b| b.wrapping_mul(37)).collect();
            let line = to_line("ligule1", &bytes);
            assert_eq!(from_line("ligule1", &line), Ok(bytes.clone()));
            let spelt = line.to_uppercase().chars().map(|c| format!("{c}-\n ")).collect::<String>();
            assert_eq!(from_line("ligule1", &spelt), Ok(bytes));
        }
    }

    #[test]
    fn a_wrong_letter_never_passes() {
        let line = to_line("ligule1", b"a corn field");
        for at in 7..line.len() {
            for letter in "qpzb".chars().filter(|&c| !line[at..].starts_with(c)) {
                let mut wrong = line.clone();
                wrong.replace_range(at..=at, &letter.to_string());
                assert!(from_line("ligule1", &wrong).is_err(), "{wrong}");
            }
            assert!(from_line("ligule1", &line[..at]).is_err());
        }
        assert!(matches!(from_line("ligule1", "http://"), Err(TextError::Prefix { .. })));
    }
}
