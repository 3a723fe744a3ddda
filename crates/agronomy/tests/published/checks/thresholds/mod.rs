//! Thresholds of insects and weeds.

use ligule_agronomy::catalogue::{Value, worksheets};

use crate::row::Answer::{self, Number, Text};
use crate::row::Row;

mod money;
mod plans;
mod rules;
mod weeds;

pub(crate) fn answer(row: &Row) -> Option<Answer> {
    if row.check == "threshold worksheet" {
        return Some(worked(row));
    }
    [money::answer, plans::answer, rules::answer, weeds::answer].iter().find_map(|check| check(row))
}

/// Works a worksheet as it is typed on the command line, and returns the result of that name.
fn worked(row: &Row) -> Answer {
    let sheets = worksheets();
    let sheet = sheets.iter().find(|sheet| sheet.name == row.text("sheet")).expect("a worksheet of that name");
    let typed: Vec<_> = row.list("typed").iter().map(|text| text.as_str().expect("a text")).collect();
    let typed: Vec<_> = typed.iter().map(|text| text.split_once(' ').expect("a name and a text")).collect();
    let answer = sheet.work(&typed).unwrap_or_else(|error| panic!("`{}`: {error}", row.name));
    let result =
        answer.results.iter().find(|outcome| outcome.name == row.text("result")).expect("a result of that name");
    match &result.value {
        Value::Number(number) => Number(*number),
        Value::Text(words) => Text(words.clone()),
        Value::Range(..) => panic!("`{}` is a range", result.name),
    }
}
