//! Between the contract's functions and the [`Rule`] of a pack.

use std::{any::Any, cell::RefCell, marker::PhantomData, sync::Once};

use crate::{
    Explanation, Field, Found, Rule, RuleError, Season, Tables,
    bindings::{
        exports::ligule::rules::rule::Guest,
        ligule::rules::{
            log,
            types::{CellTable, Findings, Metadata, Observations},
        },
    },
};

/// The least s32 stands for a day that cannot be told.
const NO_DAY: i32 = i32::MIN;

thread_local! {
    static LOADED: RefCell<Option<Box<dyn Any>>> = const { RefCell::new(None) };
}

/// Carries a rule over the contract.
pub struct Exported<R>(PhantomData<R>);

impl<R: Rule> Guest for Exported<R> {
    fn describe() -> Metadata {
        send_panics_to_the_log();
        let description = R::describe();
        let owned = |texts: &[&str]| texts.iter().map(|t| (*t).to_owned()).collect();
        Metadata {
            id: description.id.to_owned(),
            version: description.version.to_owned(),
            codes: owned(description.codes),
            needs: owned(description.needs),
        }
    }

    fn load(tables: Vec<CellTable>) -> Result<(), RuleError> {
        send_panics_to_the_log();
        let rule = R::load(&Tables::new(tables))?;
        LOADED.with(|loaded| *loaded.borrow_mut() = Some(Box::new(rule)));
        Ok(())
    }

    fn evaluate(season: Season, obs: Observations) -> Result<Findings, RuleError> {
        with_rule::<R, _>(|rule| {
            let mut columns = empty();
            for field in Field::all(&obs) {
                for found in rule.evaluate(&season, &field)? {
                    push(&mut columns, field.index(), found);
                }
            }
            Ok(columns)
        })
    }

    fn explain(season: Season, obs: Observations) -> Result<Vec<Explanation>, RuleError> {
        with_rule::<R, _>(|rule| {
            let mut words = Vec::new();
            for field in Field::all(&obs) {
                let found = rule.evaluate(&season, &field)?;
                words.extend(found.iter().map(|f| rule.explain(&season, &field, f)));
            }
            Ok(words)
        })
    }
}

fn with_rule<R: Rule, T>(ask: impl FnOnce(&R) -> Result<T, RuleError>) -> Result<T, RuleError> {
    LOADED.with(|loaded| match loaded.borrow().as_ref().and_then(|rule| rule.downcast_ref::<R>()) {
        Some(rule) => ask(rule),
        None => Err(RuleError::Internal("it was asked before it was given its tables".to_owned())),
    })
}

/// Without this a panic reaches the host as `unreachable`, its words lost.
fn send_panics_to_the_log() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        std::panic::set_hook(Box::new(|panic| log::write(log::Level::Warn, &panic.to_string())));
    });
}

fn empty() -> Findings {
    Findings {
        group: Vec::new(),
        code: Vec::new(),
        severity: Vec::new(),
        window: Vec::new(),
        opens: Vec::new(),
        closes: Vec::new(),
        next_check_days: Vec::new(),
        reason_offset: vec![0],
        observed: Vec::new(),
        observed_valid: Vec::new(),
        limit: Vec::new(),
        limit_valid: Vec::new(),
        evidence_offset: vec![0],
        evidence_row: Vec::new(),
    }
}

fn push<S>(columns: &mut Findings, group: u32, found: Found<S>) {
    columns.group.push(group);
    columns.code.push(found.code);
    columns.severity.push(found.severity);
    columns.window.push(found.window);
    columns.opens.push(found.opens.unwrap_or(NO_DAY));
    columns.closes.push(found.closes.unwrap_or(NO_DAY));
    columns.next_check_days.push(found.next_check_days);
    for reason in found.reasons {
        columns.observed.push(reason.observed.unwrap_or_default());
        columns.observed_valid.push(reason.observed.is_some().into());
        columns.limit.push(reason.limit.unwrap_or_default());
        columns.limit_valid.push(reason.limit.is_some().into());
        columns.evidence_row.extend(reason.rows);
        columns.evidence_offset.push(columns.evidence_row.len() as u32);
    }
    columns.reason_offset.push(columns.observed.len() as u32);
}
