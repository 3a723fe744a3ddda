//! The table of limits.

use ligule_rule_sdk::{Cells, RuleError, Tables};

/// How a spray is placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Placement {
    /// Over the top.
    Broadcast,
    /// With drop nozzles, below the whorl.
    Directed,
}

/// How sure a limit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// Read in a publication.
    Page,
    /// From memory.
    Memory,
}

/// An upper limit: the number, whether it is itself outside, and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Upper {
    /// No limit is on file, or a doubtful one.
    Unknown,
    /// The source says that labels name none.
    NoLimit,
    /// A limit.
    Known { limit: f64, before: bool, mark: Mark },
}

/// A least height, in: the number and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Lower {
    /// The number on file is doubtful.
    Unknown,
    /// A limit.
    Known { limit: f64, mark: Mark },
}

/// One row of the table.
pub(crate) struct Limit {
    pub(crate) ingredient: String,
    pub(crate) group: String,
    pub(crate) placement: Placement,
    pub(crate) partner: Option<String>,
    pub(crate) tolerance: Option<String>,
    /// Leaf collars.
    pub(crate) stage: Upper,
    /// Least height; `None` where the source names none.
    pub(crate) first: Option<Lower>,
    /// Greatest height, in.
    pub(crate) height: Upper,
    pub(crate) citations: Vec<String>,
    pub(crate) note: Option<String>,
}

/// The whole table.
pub(crate) struct Limits {
    pub(crate) rows: Vec<Limit>,
    ingredients: Vec<String>,
    cautions: Vec<(String, String)>,
}

impl Limits {
    pub(crate) fn read(tables: &Tables) -> Result<Self, RuleError> {
        let rows = tables.table("limits")?.rows().map(|cells| Limit::read(&cells)).collect::<Result<Vec<_>, _>>()?;
        let mut ingredients: Vec<String> = Vec::new();
        for name in rows.iter().map(|r| &r.ingredient).chain(rows.iter().filter_map(|r| r.partner.as_ref())) {
            if !ingredients.contains(name) {
                ingredients.push(name.clone());
            }
        }
        let cautions = tables.table("cautions")?.rows().map(|cells| {
            let ingredient = cells.text("ingredient")?;
            if !ingredients.iter().any(|i| i == ingredient) {
                return Err(cells.bad("ingredient", format!("`{ingredient}` is not in limits.csv")));
            }
            Ok((ingredient.to_owned(), cells.text("caution")?.to_owned()))
        });
        let cautions = cautions.collect::<Result<Vec<_>, _>>()?;
        Ok(Self { rows, ingredients, cautions })
    }

    pub(crate) fn ingredients(&self) -> &[String] {
        &self.ingredients
    }

    pub(crate) fn has_rows(&self, ingredient: &str, placement: Placement) -> bool {
        self.rows.iter().any(|r| r.ingredient == ingredient && r.placement == placement && r.partner.is_none())
    }

    /// Reads `mesotrione+atrazine`; each ingredient once, in the order given.
    pub(crate) fn mix(&self, text: &str) -> Result<Vec<String>, RuleError> {
        let mut mix: Vec<String> = Vec::new();
        for name in text.split('+').map(str::trim).filter(|n| !n.is_empty()) {
            let known = self.ingredients.iter().find(|i| i.eq_ignore_ascii_case(name));
            let known = known.ok_or_else(|| {
                RuleError::Unsupported(format!(
                    "there is no ingredient `{name}` in the table; there are {}",
                    self.ingredients.join("; ")
                ))
            })?;
            if !mix.contains(known) {
                mix.push(known.clone());
            }
        }
        if mix.is_empty() {
            return Err(RuleError::Unsupported(format!(
                "mix should name active ingredients joined by `+`, got `{text}`"
            )));
        }
        Ok(mix)
    }

    /// Returns the ids of the cautions that belong to an ingredient.
    pub(crate) fn cautions(&self, ingredient: &str) -> impl Iterator<Item = &str> {
        self.cautions.iter().filter(move |(i, _)| i == ingredient).map(|(_, caution)| caution.as_str())
    }
}

impl Limit {
    fn read(cells: &Cells<'_>) -> Result<Self, RuleError> {
        // Provenance is part of a limit: a row that nobody checked is refused.
        cells.text("checked_on")?;
        let placement = [("broadcast", Placement::Broadcast), ("directed", Placement::Directed)];
        Ok(Self {
            ingredient: cells.text("ingredient")?.to_owned(),
            group: cells.text("group")?.to_owned(),
            placement: cells.one_of("placement", &placement)?,
            partner: cells.optional("partner")?.map(str::to_owned),
            tolerance: cells.optional("tolerance")?.map(str::to_owned),
            stage: upper(cells, "stage", "stage_rule", "stage_mark", "through")?,
            first: lower(cells)?,
            height: upper(cells, "height_in", "height_rule", "height_mark", "to")?,
            citations: cells.text("citations")?.split_whitespace().map(str::to_owned).collect(),
            note: cells.optional("note")?.map(str::to_owned),
        })
    }
}

/// How sure a cell is; `None` for a doubtful number, which counts as none.
fn mark(cells: &Cells<'_>, column: &str) -> Result<Option<Mark>, RuleError> {
    cells.one_of(column, &[("P", Some(Mark::Page)), ("m", Some(Mark::Memory)), ("low", None)])
}

fn lower(cells: &Cells<'_>) -> Result<Option<Lower>, RuleError> {
    let Some(limit) = cells.number("first_in")? else { return Ok(None) };
    let mark = mark(cells, "first_mark")?;
    Ok(Some(mark.map_or(Lower::Unknown, |mark| Lower::Known { limit, mark })))
}

fn upper(cells: &Cells<'_>, number: &str, rule: &str, sure: &str, inclusive: &str) -> Result<Upper, RuleError> {
    if cells.optional(number)?.is_none() {
        return Ok(Upper::Unknown);
    }
    let Some(mark) = mark(cells, sure)? else { return Ok(Upper::Unknown) };
    if cells.optional(number)? == Some("none") {
        return Ok(Upper::NoLimit);
    }
    let limit = cells.number(number)?.ok_or_else(|| cells.bad(number, "a number is needed"))?;
    let before = cells.one_of(rule, &[(inclusive, false), ("before", true)])?;
    Ok(Upper::Known { limit, before, mark })
}
