//! Sources are numbered in the order in which the page first names them.

use ligule_engine::assess::Citation;

#[derive(Default)]
pub(crate) struct Sources {
    list: Vec<Citation>,
}

/// One line of the list at the end of the page.
pub(crate) struct Line {
    pub(crate) number: usize,
    pub(crate) text: String,
    pub(crate) basis: String,
}

impl Sources {
    /// Returns the numbers of some citations, adding those that are new.
    pub(crate) fn cite(&mut self, citations: &[Citation]) -> Vec<usize> {
        let mut numbers: Vec<usize> = citations
            .iter()
            .map(|citation| match self.list.iter().position(|known| known == citation) {
                Some(at) => at + 1,
                None => {
                    self.list.push(citation.clone());
                    self.list.len()
                }
            })
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    }

    pub(crate) fn lines(&self) -> Vec<Line> {
        self.list
            .iter()
            .enumerate()
            .map(|(at, citation)| Line {
                number: at + 1,
                text: match citation.year {
                    0 => citation.text.clone(),
                    year if citation.text.contains(&year.to_string()) => citation.text.clone(),
                    year => format!("{} ({year})", citation.text),
                },
                basis: match citation.basis.as_str() {
                    "page" => String::new(),
                    "memory" => "from memory, to be verified".to_owned(),
                    "practice" => "common practice, no source".to_owned(),
                    "derived" => "arithmetic from definitions or from the figures named".to_owned(),
                    other => other.to_owned(),
                },
            })
            .collect()
    }
}
