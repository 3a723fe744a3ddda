//! What was counted on the latest day: the sites of one visit pooled, where every one of them can be true.

use ligule_rule_sdk::Field;

pub(crate) const ORGANISM: &str = "pest-count/organism";
pub(crate) const EXAMINED: &str = "pest-count/plants_examined";
pub(crate) const AFFECTED: &str = "pest-count/plants_affected";
pub(crate) const CUT: &str = "pest-count/plants_cut";
pub(crate) const LARVAE: &str = "pest-count/larvae";
pub(crate) const LENGTH: &str = "pest-count/larva_length";

/// EPPO code of the black cutworm, *Agrotis ipsilon*.
const BLACK_CUTWORM: &str = "AGROYP";

/// A site at which more plants are cut or damaged than were examined.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Impossible {
    pub(crate) examined: f64,
    pub(crate) hits: f64,
    /// `cut` or `damaged`.
    pub(crate) what: &'static str,
    pub(crate) rows: Vec<u32>,
}

/// Plants and larvae of the latest day's sites. A number is there only where every site that examined plants gave it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Count {
    pub(crate) day: i32,
    pub(crate) sites: usize,
    pub(crate) examined: f64,
    pub(crate) cut: Option<f64>,
    pub(crate) affected: Option<f64>,
    pub(crate) larvae: Option<f64>,
    /// Shortest and longest usual length, in.
    pub(crate) length: Option<(f64, f64)>,
    pub(crate) rows: Vec<u32>,
}

/// Returns the rows that say that somebody looked for this insect.
pub(crate) fn looked_for(field: &Field<'_>) -> Vec<u32> {
    field.results(ORGANISM).iter().filter(|o| o.text == Some(BLACK_CUTWORM)).map(|o| o.row).collect()
}

impl Count {
    /// Returns the latest day's count; the sites that cannot be true where there are some, for then the day as a whole
    /// is not judged; `None` where nothing was counted.
    pub(crate) fn latest(field: &Field<'_>) -> Option<Result<Self, Vec<Impossible>>> {
        let organisms = field.results(ORGANISM);
        let sites: Vec<(i32, u32)> = organisms
            .iter()
            .filter(|o| o.text == Some(BLACK_CUTWORM))
            .filter(|o| field.of(o.observation, EXAMINED).is_some_and(|e| e.value.is_some_and(|n| n > 0.0)))
            .map(|o| (o.day, o.observation))
            .collect();
        let day = sites.iter().map(|(day, _)| *day).max()?;
        let sites: Vec<u32> = sites.into_iter().filter(|(d, _)| *d == day).map(|(_, site)| site).collect();
        let impossible: Vec<Impossible> = sites.iter().flat_map(|&site| impossible(field, site)).collect();
        if !impossible.is_empty() {
            return Some(Err(impossible));
        }
        let mut rows = Vec::new();
        let mut numbers = |measure: &str| -> Vec<Option<f64>> {
            let results = sites.iter().map(|&site| field.of(site, measure));
            results
                .map(|row| {
                    let row = row?;
                    rows.push(row.row);
                    row.value
                })
                .collect()
        };
        let sum = |values: Vec<Option<f64>>| values.into_iter().sum::<Option<f64>>();
        let examined = sum(numbers(EXAMINED))?;
        let (cut, affected, larvae) = (sum(numbers(CUT)), sum(numbers(AFFECTED)), sum(numbers(LARVAE)));
        let lengths: Vec<f64> = numbers(LENGTH).into_iter().flatten().collect();
        let length = lengths.iter().copied().reduce(f64::min).zip(lengths.iter().copied().reduce(f64::max));
        rows.sort_unstable();
        Some(Ok(Self { day, sites: sites.len(), examined, cut, affected, larvae, length, rows }))
    }
}

fn impossible(field: &Field<'_>, site: u32) -> Vec<Impossible> {
    let number = |measure| field.of(site, measure).and_then(|row| Some((row.value?, row.row)));
    let Some((examined, examined_row)) = number(EXAMINED) else { return Vec::new() };
    let sorts = [("cut", CUT), ("damaged", AFFECTED)];
    let too_many = sorts.into_iter().filter_map(|(what, measure)| {
        let (hits, row) = number(measure)?;
        (hits > examined).then(|| Impossible { examined, hits, what, rows: vec![examined_row, row] })
    });
    too_many.collect()
}
