use super::taken::told;

/// A JPEG of which only the EXIF is there: time, offset and place.
fn jpeg() -> Vec<u8> {
    // TIFF, big endian: IFD0 points to the Exif and the GPS directory (Exif 2.32, CIPA DC-008, 4.6).
    let mut tiff = b"MM\0*\0\0\0\x08".to_vec();
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&tag.to_be_bytes()[..], &kind.to_be_bytes(), &count.to_be_bytes(), &value].concat()
    };
    let at = |offset: u32| offset.to_be_bytes();
    // 8: IFD0, 30 bytes. 38: Exif, 30 bytes. 68: GPS, 54 bytes. 122: values.
    tiff.extend([0, 2]);
    tiff.extend(entry(0x8769, 4, 1, at(38)));
    tiff.extend(entry(0x8825, 4, 1, at(68)));
    tiff.extend([0; 4]);
    tiff.extend([0, 2]);
    tiff.extend(entry(0x9003, 2, 20, at(122)));
    tiff.extend(entry(0x9011, 2, 7, at(142)));
    tiff.extend([0; 4]);
    tiff.extend([0, 4]);
    tiff.extend(entry(1, 2, 2, *b"N\0\0\0"));
    tiff.extend(entry(2, 5, 3, at(150)));
    tiff.extend(entry(3, 2, 2, *b"W\0\0\0"));
    tiff.extend(entry(4, 5, 3, at(174)));
    tiff.extend([0; 4]);
    tiff.extend(b"2026:06:12 09:40:00\0-05:00\0\0");
    for (number, parts) in [(42, 1), (1, 1), (4800, 100), (93, 1), (37, 1), (1200, 100)] {
        tiff.extend(u32::to_be_bytes(number));
        tiff.extend(u32::to_be_bytes(parts));
    }
    let length = u16::try_from(tiff.len() + 8).expect("a short one");
    [b"\xff\xd8\xff\xe1".as_slice(), &length.to_be_bytes(), b"Exif\0\0", &tiff, b"\xff\xd9"].concat()
}

#[test]
fn time_and_place_are_read() {
    let told = told(&jpeg());
    assert_eq!(told.at.as_deref(), Some("2026-06-12T09:40:00-05:00"));
    assert_eq!(told.place.as_deref(), Some("42.0300000,-93.6200000"));
}

#[test]
fn no_file_however_broken_does_more_than_tell_nothing() {
    let whole = jpeg();
    for length in 0..whole.len() {
        told(&whole[..length]);
    }
    for at in 0..whole.len() {
        for value in [0, 1, 0x7f, 0x80, 0xff] {
            let mut broken = whole.clone();
            broken[at] = value;
            if let Some(at) = told(&broken).at {
                assert!(at.len() >= 19, "{at}");
            }
        }
    }
}
