//! What sort of picture a file holds, and whether all of it is there, told by its bytes and never by its name.

use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom};

/// A sort of picture: its IANA media type and the extension of its files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Media {
    pub(super) kind: &'static str,
    pub(super) extension: &'static str,
}

/// How much of a picture a file holds, as far as its parts tell without being decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// It begins like a picture and ends before any part of the image comes.
    Nothing,
    /// Its end is missing, or its parts do not follow each other as they should.
    Cut,
    /// From its beginning to its end.
    Whole,
}

/// Brands of HEIF files that hold pictures (ISO/IEC 23008-12, annex B; `mif1` and `msf1` are in clause 10).
const HEIF: [&[u8]; 8] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"];

/// The most parts of a file that are looked at.
const PARTS: usize = 1 << 16;

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

impl Media {
    /// Tells how much of a picture of this sort a file holds.
    ///
    /// *Source:* ITU-T T.81, annex B (JPEG); W3C PNG, third edition, section 5; RFC 9649 (WebP); ISO/IEC 14496-12, 4.2 (HEIF);
    /// TIFF 6.0, section 2 (memory).
    pub(super) fn extent(self, file: impl Read + Seek) -> io::Result<Extent> {
        let mut file = BufReader::new(file);
        let length = file.seek(SeekFrom::End(0))?;
        file.rewind()?;
        let found = match self.extension {
            "jpg" => jpeg(&mut file),
            "png" => png(&mut file),
            "webp" => webp(&mut file, length),
            "heic" => heif(&mut file, length),
            _ => tiff(&mut file, length),
        };
        match found {
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Ok(Extent::Nothing),
            found => found,
        }
    }
}

fn bytes<const N: usize>(file: &mut impl Read) -> io::Result<[u8; N]> {
    let mut bytes = [0; N];
    file.read_exact(&mut bytes)?;
    Ok(bytes)
}

/// Goes from marker to marker up to the image, then looks for the mark of its end; what cameras append behind that is theirs.
fn jpeg(file: &mut (impl BufRead + Seek)) -> io::Result<Extent> {
    file.seek(SeekFrom::Start(2))?;
    for _ in 0..PARTS {
        let [mark, mut marker] = bytes(file)?;
        if mark != 0xff {
            return Ok(Extent::Cut);
        }
        // Any number of these may stand before a marker.
        while marker == 0xff {
            [marker] = bytes(file)?;
        }
        match marker {
            0xd9 => return Ok(Extent::Nothing),
            0x01 | 0xd0..=0xd8 => continue,
            _ => {}
        }
        let length = u16::from_be_bytes(bytes(file)?);
        // Read and not passed over: so the end of the file is noticed.
        let rest = u64::from(length.saturating_sub(2));
        if io::copy(&mut file.take(rest), &mut io::sink())? < rest {
            return Ok(Extent::Nothing);
        }
        if marker == 0xda {
            return Ok(if holds(file, [0xff, 0xd9])? { Extent::Whole } else { Extent::Cut });
        }
    }
    Ok(Extent::Cut)
}

/// Tells whether two bytes follow each other anywhere in the rest of a file.
fn holds(file: &mut impl BufRead, wanted: [u8; 2]) -> io::Result<bool> {
    let mut before = None;
    loop {
        let here = file.fill_buf()?;
        let Some(last) = here.last().copied() else { return Ok(false) };
        if before.is_some_and(|before| [before, here[0]] == wanted) || here.windows(2).any(|two| two == wanted) {
            return Ok(true);
        }
        before = Some(last);
        let length = here.len();
        file.consume(length);
    }
}

/// Goes from chunk to chunk up to the last one.
fn png(file: &mut (impl Read + Seek)) -> io::Result<Extent> {
    file.seek(SeekFrom::Start(8))?;
    let mut image = false;
    for _ in 0..PARTS {
        let head = bytes::<8>(file);
        let Ok([a, b, c, d, name @ ..]) = head else { break };
        match &name {
            b"IEND" => return Ok(if image { Extent::Whole } else { Extent::Nothing }),
            b"IDAT" => image = true,
            // A chunk's name is four letters: whatever this is, more may be left behind it.
            name if !name.iter().all(u8::is_ascii_alphabetic) => return Ok(Extent::Cut),
            _ => {}
        }
        // The chunk's checksum follows it.
        file.seek(SeekFrom::Current(i64::from(u32::from_be_bytes([a, b, c, d])) + 4))?;
    }
    Ok(if image { Extent::Cut } else { Extent::Nothing })
}

fn webp(file: &mut (impl Read + Seek), length: u64) -> io::Result<Extent> {
    file.seek(SeekFrom::Start(4))?;
    let told = u64::from(u32::from_le_bytes(bytes(file)?)) + 8;
    Ok(match length {
        // Behind the head of the file comes that of the first chunk.
        ..=20 => Extent::Nothing,
        _ if length < told => Extent::Cut,
        _ => Extent::Whole,
    })
}

/// Goes from box to box to the end of the file.
fn heif(file: &mut (impl Read + Seek), length: u64) -> io::Result<Extent> {
    let (mut at, mut image) = (0, false);
    for _ in 0..PARTS {
        if at == length {
            return Ok(if image { Extent::Whole } else { Extent::Nothing });
        }
        file.seek(SeekFrom::Start(at))?;
        let Ok([a, b, c, d, name @ ..]) = bytes::<8>(file) else { break };
        image |= matches!(&name, b"meta" | b"mdat" | b"moov");
        let size = match u32::from_be_bytes([a, b, c, d]) {
            0 => length - at,
            1 => u64::from_be_bytes(bytes(file)?),
            size => u64::from(size),
        };
        at = match at.checked_add(size) {
            Some(next) if size >= 8 && next <= length => next,
            _ => break,
        };
    }
    Ok(if image { Extent::Cut } else { Extent::Nothing })
}

/// Looks whether the directory of the first picture is there.
fn tiff(file: &mut (impl Read + Seek), length: u64) -> io::Result<Extent> {
    let big = bytes::<4>(file)?[0] == b'M';
    let at = bytes(file)?;
    let at = u64::from(if big { u32::from_be_bytes(at) } else { u32::from_le_bytes(at) });
    Ok(match length {
        ..=8 => Extent::Nothing,
        _ if at + 2 > length => Extent::Cut,
        _ => Extent::Whole,
    })
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::{Extent, media};

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

    fn extent(bytes: &[u8]) -> Extent {
        media(bytes).expect("a picture").extent(Cursor::new(bytes)).expect("it is in memory")
    }

    /// Files of a few bytes: a part before the image, the image, its end. What real programs write is looked at in the system's
    /// tests.
    #[test]
    fn a_picture_is_nothing_cut_or_whole() {
        let app = b"\xff\xe0\0\x06JFIF".as_slice();
        let image = [app, b"\xff\xc0\0\x04ab\xff\xda\0\x03x".as_slice(), b"image\xff\0more"].concat();
        let jpeg = |rest: &[u8]| extent(&[b"\xff\xd8", rest].concat());
        assert_eq!(jpeg(b"\xff"), Extent::Nothing, "three bytes");
        assert_eq!(jpeg(app), Extent::Nothing);
        assert_eq!(jpeg(b"\xff\xe0\x40\0JFIF"), Extent::Nothing, "it ends within what stands before the image");
        assert_eq!(jpeg(&[app, b"\xff\xd9"].concat()), Extent::Nothing);
        assert_eq!(jpeg(&image), Extent::Cut);
        assert_eq!(jpeg(&[app, b"no marker"].concat()), Extent::Cut);
        assert_eq!(jpeg(&[&image, b"\xff\xd9".as_slice()].concat()), Extent::Whole);
        assert_eq!(jpeg(&[&image, b"\xff\xd9 a film behind it".as_slice()].concat()), Extent::Whole);
        let chunk = |name: &[u8; 4], data: &[u8]| {
            let length = u32::try_from(data.len()).expect("short").to_be_bytes();
            [&length[..], name, data, b"sums"].concat()
        };
        let png = |chunks: &[Vec<u8>]| extent(&[b"\x89PNG\r\n\x1a\n".to_vec(), chunks.concat()].concat());
        let (head, data, end) = (chunk(b"IHDR", &[0; 13]), chunk(b"IDAT", b"image"), chunk(b"IEND", b""));
        assert_eq!(png(&[head.clone(), end.clone()]), Extent::Nothing);
        assert_eq!(png(&[head.clone(), data[..9].to_vec()]), Extent::Cut);
        assert_eq!(png(&[head.clone(), vec![7; 99]]), Extent::Cut, "damaged, and perhaps not all of it");
        assert_eq!(png(&[head, data, end]), Extent::Whole);
        let riff = |length: u32, rest: &[u8]| extent(&[b"RIFF", &length.to_le_bytes()[..], b"WEBP", rest].concat());
        assert_eq!(riff(4, b""), Extent::Nothing);
        assert_eq!(riff(100, b"VP8L\x05\0\0\0image"), Extent::Cut);
        assert_eq!(riff(17, b"VP8L\x05\0\0\0image"), Extent::Whole);
        let ftyp = b"\0\0\0\x0cftypheic".as_slice();
        assert_eq!(extent(ftyp), Extent::Nothing);
        assert_eq!(extent(&[ftyp, b"\0\0\0\x20mdatimage"].concat()), Extent::Cut);
        assert_eq!(extent(&[ftyp, b"\0\0\0\x0dmdatimage"].concat()), Extent::Whole);
        assert_eq!(extent(b"MM\0*\0\0\0\x08"), Extent::Nothing);
        assert_eq!(extent(b"MM\0*\0\0\x08\0image"), Extent::Cut);
        assert_eq!(extent(b"MM\0*\0\0\0\x08\0\x01..."), Extent::Whole);
        // However broken, something is told.
        let jpeg = [b"\xff\xd8", &image[..], b"\xff\xd9"].concat();
        let png = [&b"\x89PNG\r\n\x1a\n"[..], &chunk(b"IDAT", b"image"), &chunk(b"IEND", b"")].concat();
        let heic = [ftyp, b"\0\0\0\x01mdat\0\0\0\0\0\0\0\x15image"].concat();
        for whole in [&jpeg[..], &png, &heic, b"RIFF\x11\0\0\0WEBPVP8L\x05\0\0\0image", b"MM\0*\0\0\0\x08\0\x01..."] {
            let media = media(whole).expect("a picture");
            assert_eq!(media.extent(Cursor::new(whole)).expect("it is in memory"), Extent::Whole, "{media:?}");
            for at in 0..whole.len() {
                media.extent(Cursor::new(&whole[..at])).expect("it is in memory");
                for value in [0, 1, 0x7f, 0x80, 0xff] {
                    let mut broken = whole.to_vec();
                    broken[at] = value;
                    media.extent(Cursor::new(broken)).expect("it is in memory");
                }
            }
        }
    }
}
