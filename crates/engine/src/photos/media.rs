//! What sort of picture a file holds, told by its first bytes and never by its name.

/// A sort of picture: its IANA media type and the extension of its files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Media {
    pub(super) kind: &'static str,
    pub(super) extension: &'static str,
}

/// Brands of HEIF files that hold pictures (ISO/IEC 23008-12, annex B; `mif1` and `msf1` are in clause 10).
const HEIF: [&[u8]; 8] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"];

/// Tells the sort of picture from at least the first 12 bytes of a file; none if it is no picture that is kept.
pub(super) fn media(head: &[u8]) -> Option<Media> {
    let is = |at: usize, bytes: &[u8]| head.get(at..at + bytes.len()) == Some(bytes);
    let (kind, extension) = if is(0, b"\xff\xd8\xff") {
        ("image/jpeg", "jpg")
    } else if is(0, b"\x89PNG\r\n\x1a\n") {
        ("image/png", "png")
    } else if is(0, b"RIFF") && is(8, b"WEBP") {
        ("image/webp", "webp")
    } else if is(4, b"ftyp") && HEIF.iter().any(|brand| is(8, brand)) {
        ("image/heic", "heic")
    } else if is(0, b"II*\0") || is(0, b"MM\0*") {
        ("image/tiff", "tif")
    } else {
        return None;
    };
    Some(Media { kind, extension })
}

#[cfg(test)]
mod tests {
    use super::media;

    #[test]
    fn the_content_tells_what_it_is() {
        let told = |head: &[u8]| media(head).map(|media| media.extension);
        assert_eq!(told(b"\xff\xd8\xff\xe1\0\0Exif\0\0"), Some("jpg"));
        assert_eq!(told(b"\x89PNG\r\n\x1a\n\0\0\0\r"), Some("png"));
        assert_eq!(told(b"RIFF\0\0\0\0WEBPVP8 "), Some("webp"));
        assert_eq!(told(b"\0\0\0\x18ftypheic\0\0\0\0"), Some("heic"));
        assert_eq!(told(b"MM\0*\0\0\0\x08\0\0\0\0"), Some("tif"));
        for other in
            [b"\0\0\0\x18ftypmp42\0\0\0\0".as_slice(), b"RIFF\0\0\0\0WAVEfmt ", b"%PDF-1.7\n", b"\xff\xd8", b""]
        {
            assert_eq!(told(other), None);
        }
    }
}
