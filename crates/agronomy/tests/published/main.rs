//! Holds the formulas to published numbers: every row of every file in `published/`, one file for each publication.
//!
//! A row names a check below, its inputs and what the publication prints. Numbers are compared unrounded, with a
//! tolerance of one unit of the last digit printed unless the row says why not; a printed range must hold our number;
//! stages and counts must be equal. A row with `disagrees` is a printed number that is known to be wrong or that another
//! source contradicts: the test holds us to `ours` and to differing from what is printed, so that the disagreement stays
//! on record.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use row::{Confidence, Source};

mod checks;
mod row;

fn sources() -> Vec<(String, Source)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published");
    let mut found: Vec<_> = fs::read_dir(&folder)
        .expect("the folder of published numbers")
        .map(|entry| entry.expect("a readable folder").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| {
            let name = path.file_name().expect("a file").to_string_lossy().into_owned();
            let text = fs::read_to_string(&path).expect("a readable file");
            let source = toml::from_str(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
            (name, source)
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

#[test]
fn every_published_number_is_met() {
    let (mut rows, mut pages, mut disagreements, mut failures) = (0, 0, 0, Vec::new());
    let mut of_part = BTreeMap::new();
    for (file, source) in sources() {
        for row in &source.row {
            let (part, answer) = checks::answer(row);
            let confidence = row.confidence.unwrap_or(source.publication.confidence);
            let [page, derived, memory]: &mut [usize; 3] = of_part.entry(part).or_default();
            *match confidence {
                Confidence::Page => page,
                Confidence::Derived => derived,
                Confidence::Memory => memory,
            } += 1;
            rows += 1;
            pages += usize::from(confidence == Confidence::Page);
            disagreements += usize::from(row.disagrees.is_some());
            if !row.holds(&answer) {
                failures.push(format!(
                    "{file}: {}: ours {answer:?}, printed {:?}, which we should {} {}",
                    row.name,
                    row.printed(),
                    row.ours.as_ref().map_or_else(|| "meet".to_owned(), |ours| format!("differ from with {ours}")),
                    row.note.as_deref().unwrap_or_default(),
                ));
            }
        }
    }
    assert!(failures.is_empty(), "{} of {rows} rows failed:\n{}", failures.len(), failures.join("\n"));
    println!("rows read on a page, derived by hand, from memory:");
    for (part, _) in checks::PARTS {
        let [page, derived, memory] = of_part.get(part).copied().unwrap_or_default();
        println!("{part}: {page}, {derived}, {memory}");
        assert!(page > 0, "no row of `{part}` was read on a page: we would hold it to our own reckoning alone");
    }
    println!("{rows} published rows, {pages} of them read on a page, {disagreements} marked disagreements");
    assert!(rows >= 250, "expected the tables transcribed so far, found only {rows} rows");
    assert!(pages >= 150, "expected at least 150 rows read on a page, found {pages}");
}

#[test]
fn every_source_says_where_it_comes_from() {
    for (file, Source { publication, row }) in sources() {
        for (what, text) in [
            ("title", &publication.title),
            ("author", &publication.author),
            ("table", &publication.table),
            ("transcribed_by", &publication.transcribed_by),
            ("transcribed_on", &publication.transcribed_on),
        ] {
            assert!(!text.trim().is_empty(), "{file}: `{what}` is empty");
        }
        assert!(!row.is_empty(), "{file} has no rows");
        assert!(publication.year.is_none_or(|y| (1900..=2026).contains(&y)), "{file}: no such year");
        assert!(publication.url.is_none_or(|u| u.starts_with("http")), "{file}: `url` is no address");
        // What is recalled says so in its table, where a reader looks.
        if matches!(publication.confidence, Confidence::Memory) {
            assert!(publication.table.contains("to be verified"), "{file} is from memory and does not say so");
        }
    }
}
