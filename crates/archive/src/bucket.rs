//! How units are spread over files.

use ligule_observation::ids::DocId;

/// Rows that a file should hold at least, where there are that many: below, opening files costs more than reading them.
const ROWS_PER_FILE: u64 = 50_000;

/// Files per table and season at most.
const MOST_BUCKETS: u64 = 64;

/// Returns how many buckets the rows of one table and season are spread over: the greatest power of two that leaves
/// 50,000 rows to each on average, from 1 to 64. It depends on the number of rows alone, so that the layout does not
/// depend on the order in which units came.
pub(crate) fn buckets_for(rows: u64) -> u32 {
    let most = (rows / ROWS_PER_FILE).clamp(1, MOST_BUCKETS);
    1 << most.ilog2()
}

/// Returns the bucket of a document. Its identifier is a hash already; its first bytes serve.
pub(crate) fn bucket_of(doc: DocId, buckets: u32) -> u32 {
    u32::from_be_bytes([doc.0[0], doc.0[1], doc.0[2], doc.0[3]]) % buckets
}

#[cfg(test)]
mod tests {
    use super::buckets_for;

    #[test]
    fn a_file_holds_fifty_thousand_rows_where_there_are_that_many() {
        for (rows, buckets) in [(0, 1), (99_999, 1), (100_000, 2), (199_999, 2), (200_000, 4), (1 << 40, 64)] {
            assert_eq!(buckets_for(rows), buckets, "{rows} rows");
        }
    }
}
