//! How sure a share of plants is.

/// An interval of a share, both ends between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// Returns the 95 % score interval of a share: `hits` of `looked_at` plants.
///
/// *Units:* counts in, shares of 1 out. *Holds:* plants looked at are a random sample of the field. *Errors:* `None`
/// where nothing was looked at, or the counts are no counts.
/// *Source:* Wilson (1927), Probable inference, the law of succession, and statistical inference, Journal of the
/// American Statistical Association 22, 209-212; with z = 1.96.
///
/// ```
/// // 7 of 250 plants.
/// let interval = ligule_rule_sdk::wilson_interval(7.0, 250.0).unwrap();
/// assert!((interval.low - 0.0136).abs() < 0.00005 && (interval.high - 0.0567).abs() < 0.00005);
/// assert_eq!(ligule_rule_sdk::wilson_interval(1.0, 0.0), None);
/// ```
pub fn wilson_interval(hits: f64, looked_at: f64) -> Option<Interval> {
    const Z: f64 = 1.96;
    if !(looked_at > 0.0 && (0.0..=looked_at).contains(&hits)) {
        return None;
    }
    let (n, p, zz) = (looked_at, hits / looked_at, Z * Z);
    let middle = p + zz / (2.0 * n);
    let half = Z * (p * (1.0 - p) / n + zz / (4.0 * n * n)).sqrt();
    let scale = 1.0 + zz / n;
    Some(Interval { low: ((middle - half) / scale).max(0.0), high: ((middle + half) / scale).min(1.0) })
}
