//! Numbers and days as people read them.

use jiff::civil::Date;
pub(crate) use ligule_engine::number::counted;

/// Rounds to a whole number with thousands separated: `29,000`.
pub(crate) fn whole(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if value <= -0.5 { format!("−{out}") } else { out }
}

/// At most two decimals, none where nothing is behind the point: `1.25`, `9.5`, `30`.
pub(crate) fn trim(value: f64) -> String {
    if value.fract() == 0.0 {
        return whole(value);
    }
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `17 May 2024`.
pub(crate) fn day(date: Date) -> String {
    date.strftime("%-d %B %Y").to_string()
}

/// `17 May`.
pub(crate) fn short_day(date: Date) -> String {
    date.strftime("%-d %b").to_string()
}
