//! Exchanges of photos: everything arrives whole, in the end, whatever the link does, and nobody gets what no record names.

use ligule_sync::codec::{self, Decoder};
use ligule_sync::frame::{Photo, PhotoDone, PhotoEnd, PhotoWanted, PhotosWanted, RefuseCode};
use ligule_sync::photos::{MAX_PHOTO, PHOTO_PART};
use ligule_sync::{Frame, PhotoHash, PhotoReport, PhotoSession, SyncError};
use ligule_testkit::photos::PhotoBox;
use proptest::prelude::*;

/// What a link does to what passes.
#[derive(Debug, Clone, Default)]
struct Link {
    /// After so many bytes, both directions counted together, nothing passes any more.
    cut: Option<usize>,
    /// A byte that is changed: in which frame, where in it, by what, and whether the check sum is put right again.
    flip: Option<(usize, prop::sample::Index, u8, bool)>,
    /// The lengths of the pieces in which bytes arrive, over and over; as they come if there are none.
    pieces: Vec<usize>,
}

struct Side<'a> {
    session: PhotoSession,
    photos: &'a mut PhotoBox,
    decoder: Decoder,
    failed: Option<SyncError>,
}

impl<'a> Side<'a> {
    fn new(photos: &'a mut PhotoBox) -> Self {
        Self { session: PhotoSession::new(), photos, decoder: Decoder::default(), failed: None }
    }

    fn next(&mut self) -> Option<Frame> {
        match self.failed {
            None => self.session.next_frame(self.photos).unwrap(),
            Some(_) => self.session.farewell(),
        }
    }

    fn takes(&mut self, bytes: &[u8]) {
        self.decoder.push(bytes);
        while self.failed.is_none() {
            match self.decoder.next_frame() {
                Ok(None) => return,
                Ok(Some(frame)) => self.failed = self.session.receive(frame, self.photos).err(),
                Err(error) => self.failed = Some(self.session.receive_broken(error, self.photos)),
            }
        }
    }

    /// The link is gone: as the driver does, the session is dropped with whatever was begun.
    fn ends(self) -> Result<PhotoReport, SyncError> {
        let report = self.session.report().clone();
        ligule_sync::PhotoStore::break_off(self.photos);
        match self.failed {
            Some(error) => Err(error),
            None if self.session.is_done() => Ok(report),
            None => Err(SyncError::Protocol { reason: "cut".to_owned() }),
        }
    }
}

fn mended(mut bytes: Vec<u8>) -> Vec<u8> {
    let mut hasher = crc32fast::Hasher::new();
    hasher.update(&bytes[4..6]);
    hasher.update(&bytes[10..]);
    let crc = hasher.finalize();
    bytes[6..10].copy_from_slice(&crc.to_le_bytes());
    bytes
}

fn exchange(a: &mut PhotoBox, b: &mut PhotoBox, link: &Link) -> [Result<PhotoReport, SyncError>; 2] {
    let mut sides = [Side::new(a), Side::new(b)];
    let (mut passed, mut frames) = (0, 0);
    let mut pieces = link.pieces.iter().copied().cycle();
    let mut idle = 0;
    while idle < 2 {
        for from in 0..2 {
            let Some(frame) = sides[from].next() else {
                idle += 1;
                continue;
            };
            idle = 0;
            let mut bytes = codec::encode(&frame).unwrap();
            if let Some((which, at, by, mend)) = &link.flip
                && *which == frames
            {
                let at = at.index(bytes.len());
                bytes[at] ^= by;
                if *mend && at >= 10 {
                    bytes = mended(bytes);
                }
            }
            frames += 1;
            let room = link.cut.map_or(usize::MAX, |cut| cut.saturating_sub(passed));
            bytes.truncate(room);
            passed += bytes.len();
            let mut rest = bytes.as_slice();
            while !rest.is_empty() {
                let (piece, after) = rest.split_at(pieces.next().unwrap_or(rest.len()).clamp(1, rest.len()));
                sides[1 - from].takes(piece);
                rest = after;
            }
            if room == bytes.len() {
                idle = 2;
                break;
            }
        }
    }
    sides.map(Side::ends)
}

fn pictures(lengths: impl IntoIterator<Item = usize>) -> Vec<Vec<u8>> {
    lengths
        .into_iter()
        .zip(1_u32..)
        .map(|(length, seed)| {
            // A small generator: parts of a photo differ from each other.
            let mut state = seed.wrapping_mul(0x9e37_79b9) | 1;
            (0..length)
                .map(|_| {
                    state ^= state << 13;
                    state ^= state >> 17;
                    state ^= state << 5;
                    state.to_le_bytes()[0]
                })
                .collect()
        })
        .collect()
}

#[test]
fn each_side_gets_what_it_lacks_and_then_nothing_moves() {
    let all = pictures([1, 500, PHOTO_PART, PHOTO_PART + 1, 3 * PHOTO_PART]);
    let (mut a, mut b) = (PhotoBox::naming(&all), PhotoBox::naming(&all));
    a.files = PhotoBox::holding(&all[..4]).files;
    b.files = PhotoBox::holding(&all[3..]).files;
    let [left, right] = exchange(&mut a, &mut b, &Link::default()).map(Result::unwrap);
    assert_eq!((left.asked, left.received, left.sent), (1, 1, 3));
    assert_eq!((right.asked, right.received, right.sent), (3, 3, 1));
    assert_eq!((left.bytes_in, right.bytes_out), (3 * PHOTO_PART as u64, 3 * PHOTO_PART as u64));
    assert_eq!((&a.files, &a.files), (&b.files, &PhotoBox::holding(&all).files));
    let [left, right] = exchange(&mut a, &mut b, &Link::default()).map(Result::unwrap);
    assert_eq!((left, right), (PhotoReport::default(), PhotoReport::default()));
}

#[test]
fn what_no_record_names_is_not_given_and_what_was_not_asked_for_is_not_taken() {
    let all = pictures([100, 200]);
    let mut holder = PhotoBox::holding(&all[..1]);
    holder.files.extend(PhotoBox::holding(&all[1..]).files);
    // The other one knows both hashes; the holder's records name one.
    let mut other = PhotoBox::naming(&all);
    let [_, report] = exchange(&mut holder, &mut other, &Link::default()).map(Result::unwrap);
    assert_eq!((report.asked, report.received), (2, 1));
    assert_eq!(other.files, PhotoBox::holding(&all[..1]).files);

    let hash = PhotoBox::hash(&all[1]);
    let wanted = |held| PhotoWanted { hash, held };
    for (offer, held) in [
        (Photo { hash: PhotoBox::hash(b"other"), size: 5, from: 0 }, 0),
        (Photo { hash, size: 0, from: 0 }, 0),
        (Photo { hash, size: MAX_PHOTO + 1, from: 0 }, 0),
        (Photo { hash, size: 10, from: 11 }, 11),
        (Photo { hash, size: 10, from: 4 }, 3),
    ] {
        let mut photos = PhotoBox::naming(&all[1..]);
        if held > 0 {
            photos.parts.insert(hash, vec![0; held]);
        }
        let mut session = PhotoSession::new();
        let asked = Frame::PhotosWanted(PhotosWanted { photos: vec![wanted(held as u64)], last: true });
        assert_eq!(session.next_frame(&mut photos).unwrap(), Some(asked));
        let error = session.receive(Frame::Photo(offer), &mut photos).unwrap_err();
        assert!(matches!(error, SyncError::Protocol { .. }), "{offer:?}: {error}");
        assert_eq!(session.farewell(), Some(Frame::Refuse(RefuseCode::Broken)));
        assert!(photos.files.is_empty());
    }
    // Bytes of nothing, more bytes than there are, a receipt for nothing, frames of another exchange.
    for frames in [
        vec![Frame::PhotoBytes(vec![1])],
        vec![Frame::Photo(Photo { hash, size: 10, from: 0 }), Frame::PhotoBytes(vec![1; 11])],
        vec![Frame::Photo(Photo { hash, size: 10, from: 0 }), Frame::PhotoBytes(Vec::new())],
        vec![Frame::PhotoDone(PhotoDone { hash, end: PhotoEnd::Kept })],
        vec![Frame::Digest([0; 32])],
    ] {
        let mut photos = PhotoBox::naming(&all[1..]);
        let mut session = PhotoSession::new();
        session.next_frame(&mut photos).unwrap();
        let results: Vec<_> = frames.into_iter().map(|frame| session.receive(frame, &mut photos)).collect();
        assert!(results.last().unwrap().is_err(), "{results:?}");
        assert!(photos.files.is_empty());
    }
}

#[test]
fn a_damaged_copy_is_told_to_both_and_kept_by_none() {
    let all = pictures([2_000, 3_000]);
    let (mut holder, mut other) = (PhotoBox::holding(&all), PhotoBox::naming(&all));
    let hash = PhotoBox::hash(&all[0]);
    holder.files.get_mut(&hash).unwrap()[1_000] ^= 1;
    let [here, there] = exchange(&mut holder, &mut other, &Link::default()).map(Result::unwrap);
    assert_eq!((here.damaged_here, here.sent), (vec![hash], 1));
    assert_eq!((there.damaged_there, there.received), (vec![hash], 1));
    assert!(!other.files.contains_key(&hash) && other.parts.is_empty());
}

#[test]
fn a_full_disk_stops_the_photos_and_is_told_to_both() {
    let all = pictures(vec![2 * PHOTO_PART; 20]);
    let (mut holder, mut other) = (PhotoBox::holding(&all), PhotoBox::naming(&all));
    other.room = Some(5 * PHOTO_PART);
    let [here, there] = exchange(&mut holder, &mut other, &Link::default()).map(Result::unwrap);
    assert!(here.failed_there && here.sent == 2, "{here:?}");
    assert!(here.bytes_out < 8 * PHOTO_PART as u64, "the rest is not sent: {here:?}");
    assert_eq!((there.received, there.failures.len(), other.parts.len()), (2, 1, 0), "{there:?}");
    other.room = None;
    let _ = exchange(&mut holder, &mut other, &Link::default()).map(Result::unwrap);
    assert_eq!(other.files, holder.files);
}

#[test]
fn a_photo_that_broke_off_is_gone_on_with() {
    let all = pictures([10 * PHOTO_PART]);
    let (mut holder, mut other) = (PhotoBox::holding(&all), PhotoBox::naming(&all));
    let cut = Link { cut: Some(7 * PHOTO_PART), ..Link::default() };
    assert!(exchange(&mut holder, &mut other, &cut)[1].is_err());
    let held = other.parts.values().next().unwrap().len() as u64;
    assert!(held >= 6 * PHOTO_PART as u64, "{held}");
    let [_, report] = exchange(&mut holder, &mut other, &Link::default()).map(Result::unwrap);
    assert_eq!((report.received, report.bytes_in), (1, 10 * PHOTO_PART as u64 - held));
    assert_eq!(other.files, holder.files);
}

#[test]
fn a_hash_is_64_digits_in_lower_case() {
    let text = PhotoBox::hash(b"abc").to_string();
    assert_eq!(text.parse(), Ok(PhotoBox::hash(b"abc")));
    for wrong in ["", "..", &text[1..], &text.to_uppercase(), &format!("{text}0"), &"é".repeat(32)] {
        assert!(wrong.parse::<PhotoHash>().is_err(), "{wrong}");
    }
}

fn links() -> impl Strategy<Value = Vec<Link>> {
    let cut = prop::option::of(0..700_000_usize);
    let flip = prop::option::of((0..12_usize, any::<prop::sample::Index>(), 1..=255_u8, any::<bool>()));
    let pieces = prop::collection::vec(prop_oneof![1..200_usize, 1_000..200_000_usize], 0..5);
    prop::collection::vec((cut, flip, pieces).prop_map(|(cut, flip, pieces)| Link { cut, flip, pieces }), 1..5)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Links cut after any byte, pieces of any length, any byte changed with and without a right check sum: no file is ever
    /// another than its hash says, nothing that was kept goes, and one whole exchange brings the rest.
    #[test]
    fn whatever_the_link_does_no_wrong_file_is_kept_and_all_come_in_the_end(
        lengths in prop::collection::vec(prop_oneof![1..5_000_usize, 100_000..300_000_usize], 1..5),
        owners in prop::collection::vec(0..3_u8, 5),
        links in links(),
    ) {
        let all = pictures(lengths);
        let whole = PhotoBox::holding(&all).files;
        let (mut a, mut b) = (PhotoBox::naming(&all), PhotoBox::naming(&all));
        for (bytes, owner) in all.iter().zip(owners) {
            if owner != 1 {
                a.files.insert(PhotoBox::hash(bytes), bytes.clone());
            }
            if owner != 0 {
                b.files.insert(PhotoBox::hash(bytes), bytes.clone());
            }
        }
        for link in links {
            let before = (a.files.len(), b.files.len());
            let clean = link.cut.is_none() && link.flip.is_none();
            let results = exchange(&mut a, &mut b, &link);
            prop_assert!(!clean || results.iter().all(Result::is_ok), "{results:?}");
            for side in [&a, &b] {
                prop_assert!(side.files.iter().all(|(hash, bytes)| whole[hash] == *bytes));
            }
            prop_assert!(a.files.len() >= before.0 && b.files.len() >= before.1);
        }
        // What came damaged with a right check sum is found out at its end, and asked for anew: twice is enough.
        let _ = exchange(&mut a, &mut b, &Link::default());
        let [left, right] = exchange(&mut a, &mut b, &Link::default());
        prop_assert!(left.is_ok() && right.is_ok());
        prop_assert_eq!(&a.files, &whole);
        prop_assert_eq!(&b.files, &whole);
    }

    /// Frames of any kind in any order never panic and never leave a wrong file.
    #[test]
    fn frames_in_any_order_do_no_harm(order in prop::collection::vec((0..6_u8, 0..3_usize, 0..400_u64, 0..400_u64), 0..30)) {
        let all = pictures([200, 300, 1]);
        let whole = PhotoBox::holding(&all).files;
        let mut photos = PhotoBox::naming(&all);
        photos.files.insert(PhotoBox::hash(&all[2]), all[2].clone());
        let mut session = PhotoSession::new();
        for (kind, which, one, two) in order {
            while let Ok(Some(_)) = session.next_frame(&mut photos) {}
            let hash = PhotoBox::hash(&all[which]);
            let frame = match kind {
                0 => Frame::PhotosWanted(PhotosWanted { photos: vec![PhotoWanted { hash, held: one }], last: two > 200 }),
                1 => Frame::Photo(Photo { hash, size: all[which].len() as u64, from: one.min(two) / 8 }),
                2 => Frame::PhotoBytes(all[which][..all[which].len().min(two as usize)].to_vec()),
                3 => Frame::PhotoDone(PhotoDone { hash, end: PhotoEnd::Kept }),
                4 => Frame::PhotosEnd(ligule_sync::frame::PhotosEnd { started: one, lacking: two }),
                _ => Frame::Refuse(RefuseCode::Broken),
            };
            if session.receive(frame, &mut photos).is_err() {
                break;
            }
        }
        prop_assert!(photos.files.iter().all(|(hash, bytes)| whole[hash] == *bytes));
    }
}
