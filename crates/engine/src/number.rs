//! Numbers as people read them.

/// Writes `n` / 10^`scale` without trailing zeros.
pub fn decimal(n: i64, scale: u8) -> String {
    let power = 10u64.pow(scale.into());
    let (whole, part) = (n.unsigned_abs() / power, n.unsigned_abs() % power);
    let sign = if n < 0 { "-" } else { "" };
    if part == 0 {
        return format!("{sign}{whole}");
    }
    let digits = format!("{part:0width$}", width = scale.into());
    format!("{sign}{whole}.{}", digits.trim_end_matches('0'))
}

/// Writes a whole number with commas at the thousands.
pub fn thousands(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    if value < 0.0 && out != "0" { format!("-{out}") } else { out }
}

/// Writes a number with its word: `1 day`, `2 days`.
pub fn counted<N: Copy + TryInto<u64>>(n: N, one: &str, many: &str) -> String {
    // A number that does not fit is negative or beyond counting, and so not one.
    let n: u64 = n.try_into().unwrap_or(u64::MAX);
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_written_without_trailing_zeros() {
        assert_eq!(decimal(3000, 2), "30");
        assert_eq!(decimal(-125, 2), "-1.25");
        assert_eq!(decimal(5, 1), "0.5");
        assert_eq!(decimal(0, 0), "0");
        assert_eq!(decimal(i64::MIN, 1), "-922337203685477580.8");
    }

    #[test]
    fn thousands_have_commas() {
        assert_eq!(thousands(29_004.4), "29,004");
        assert_eq!(thousands(999.6), "1,000");
        assert_eq!(thousands(-0.2), "0");
        assert_eq!(thousands(1_234_567.0), "1,234,567");
    }
}
