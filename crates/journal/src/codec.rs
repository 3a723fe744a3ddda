//! How heads and version vectors lie in the `doc` table.

use ligule_observation::version::{ChangeHash, VersionVector};

/// Heads: 32 bytes each, sorted.
pub(crate) fn heads_to_bytes(heads: &[ChangeHash]) -> Vec<u8> {
    heads.concat()
}

pub(crate) fn heads_from_bytes(bytes: &[u8]) -> Option<Vec<ChangeHash>> {
    bytes.len().is_multiple_of(32).then(|| bytes.chunks_exact(32).map(|c| c.try_into().expect("32 bytes")).collect())
}

/// Version vector: for each actor one byte of length, the actor, the sequence number in 8 bytes, big end first.
pub(crate) fn vector_to_bytes(vector: &VersionVector) -> Vec<u8> {
    let mut out = Vec::with_capacity(vector.len() * 25);
    for (actor, seq) in vector {
        out.push(u8::try_from(actor.len()).unwrap_or(u8::MAX));
        out.extend_from_slice(&actor[..actor.len().min(255)]);
        out.extend_from_slice(&seq.to_be_bytes());
    }
    out
}

pub(crate) fn vector_from_bytes(mut bytes: &[u8]) -> Option<VersionVector> {
    let mut out = VersionVector::new();
    while let Some((length, rest)) = bytes.split_first() {
        let (actor, rest) = rest.split_at_checked(usize::from(*length))?;
        let (seq, rest) = rest.split_at_checked(8)?;
        out.insert(actor.to_vec(), u64::from_be_bytes(seq.try_into().ok()?));
        bytes = rest;
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vectors_survive_the_table() {
        let vector: VersionVector = [(vec![1; 16], 7), (vec![2; 3], u64::MAX), (vec![], 0)].into();
        assert_eq!(vector_from_bytes(&vector_to_bytes(&vector)), Some(vector.clone()));
        let bytes = vector_to_bytes(&vector);
        assert_eq!(vector_from_bytes(&bytes[..bytes.len() - 1]), None);
    }
}
