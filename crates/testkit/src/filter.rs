//! What differs from run to run, taken out of a transcript.

use std::path::Path;
use std::sync::LazyLock;

use regex::Regex;

/// Pattern and what stands for it, in the order in which they are tried.
static PATTERNS: LazyLock<Vec<(Regex, &str)>> = LazyLock::new(|| {
    [
        // 2026-05-14T06:30:00.25-05:00[America/Chicago], and with a space, to the minute or finer.
        (r"\b\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)?(\[[A-Za-z_/+-]+\])?", "[INSTANT]"),
        // 26 characters of Crockford's base 32; the first is at most 7.
        (r"\b[0-7][0-9A-HJKMNP-TV-Z]{25}\b", "[ULID]"),
        (r"\b[0-9a-f]{32,128}\b", "[HASH]"),
        (r"(127\.0\.0\.1|\[::1\]|localhost):\d{2,5}\b", "$1:[PORT]"),
        (r"\b\d+(\.\d+)? ?(ns|µs|ms|s|sec|seconds)\b", "[TIME]"),
    ]
    .map(|(pattern, sign)| (Regex::new(pattern).expect("the patterns are fixed, and tested below"), sign))
    .into_iter()
    .collect()
});

/// Replaces the folder by `[FOLDER]`, and instants, identifiers, hashes, loopback ports and durations by such words.
///
/// Civil dates stay: they belong to what was recorded.
#[must_use]
pub fn filtered(text: &str, folder: &Path) -> String {
    let mut text = text.replace(&*folder.to_string_lossy(), "[FOLDER]").replace("\r\n", "\n");
    for (pattern, sign) in PATTERNS.iter() {
        text = pattern.replace_all(&text, *sign).into_owned();
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(text: &str) -> String {
        filtered(text, Path::new("/a/folder"))
    }

    #[test]
    fn what_differs_from_run_to_run_is_replaced() {
        assert_eq!(seen("in /a/folder/north"), "in [FOLDER]/north");
        assert_eq!(seen("at 2026-05-14T06:30:00-05:00[America/Chicago]."), "at [INSTANT].");
        assert_eq!(seen("at 2026-05-14 06:30, at 2026-05-14T06:30:00.123Z"), "at [INSTANT], at [INSTANT]");
        assert_eq!(seen("visit 01ARZ3NDEKTSV4RRFFQ69G5FAV #3"), "visit [ULID] #3");
        assert_eq!(seen("heads af1349b9f5f9a1a6a0404dea36dcc949"), "heads [HASH]");
        assert_eq!(seen("on 127.0.0.1:40213 and [::1]:9"), "on 127.0.0.1:[PORT] and [::1]:9");
        assert_eq!(seen("merged in 1.25 s (12 ms each)"), "merged in [TIME] ([TIME] each)");
    }

    #[test]
    fn what_was_recorded_stays() {
        for text in
            ["planted 2026-05-14", "31 plants in 17.4 ft", "V5, 6 seeds", "CORN HYBRID ABCDEFGHIJKLMNOPQRSTUVWXYZ"]
        {
            assert_eq!(seen(text), text);
        }
    }
}
