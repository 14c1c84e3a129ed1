//! What the sums claim, held against trying every whole number.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests fail loudly")]

use proptest::prelude::*;

use super::{
    linear::{FAR, Row, Sheet, Solved, Tableau},
    whole::{Verdict, least},
};

/// Up to four columns and rows; some rows have an end on one side only.
fn sheets() -> impl Strategy<Value = Sheet> {
    let row = (proptest::collection::vec(-6_i64..7, 4), -8_i64..12, 0_i64..12, 0..3_u8);
    let prices = proptest::collection::vec(0_i64..9, 4);
    (
        1_usize..5,
        proptest::collection::vec(row, 1..5),
        prices,
        proptest::collection::vec(0_i64..4, 4),
    )
        .prop_map(|(columns, rows, prices, most)| Sheet {
            bounds: most[..columns].iter().map(|most| (0, *most)).collect(),
            rows: rows
                .into_iter()
                .map(|(coefficients, least, wide, open)| Row {
                    terms: coefficients.into_iter().take(columns).enumerate().collect(),
                    least: if open == 1 { -FAR } else { least },
                    most: if open == 2 { FAR } else { least + wide },
                })
                .collect(),
            prices: prices[..columns].to_vec(),
        })
}

/// Every whole answer within the rows.
fn answers(sheet: &Sheet) -> Vec<Vec<i64>> {
    let mut all: Vec<Vec<i64>> = vec![Vec::new()];
    for (low, high) in &sheet.bounds {
        let more = |start: &Vec<i64>| {
            let start = start.clone();
            (*low..=*high).map(move |value| [start.clone(), vec![value]].concat())
        };
        all = all.iter().flat_map(more).collect();
    }
    all.retain(|values| {
        sheet.rows.iter().all(|row| {
            let sum: i64 = row.terms.iter().map(|(column, n)| n * values[*column]).sum();
            row.least <= sum && sum <= row.most
        })
    });
    all
}

fn worth(sheet: &Sheet, values: &[i64]) -> i64 {
    values.iter().zip(&sheet.prices).map(|(n, price)| n * price).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bound_is_above_a_whole_answer(sheet in sheets()) {
        let best = answers(&sheet).iter().map(|values| worth(&sheet, values)).min();
        match Tableau::new(&sheet).solve(&sheet.bounds, 1000) {
            Solved::Least(bound, _) => prop_assert!(best.is_none_or(|best| bound <= best)),
            Solved::Nothing => prop_assert_eq!(best, None),
            Solved::Unclear => {}
        }
    }

    #[test]
    fn the_least_that_the_room_allows_is_found(
        sheet in sheets(),
        barred in proptest::collection::vec(proptest::collection::vec(0_i64..3, 4), 0..3),
    ) {
        // The room has no day for what contains one of these.
        let allowed = |values: &[i64]| {
            !barred.iter().any(|bar| values.iter().zip(bar).all(|(own, least)| own >= least))
        };
        let all = answers(&sheet);
        let best = all.iter().filter(|values| allowed(values)).map(|v| worth(&sheet, v)).min();
        let columns: Vec<usize> = (0..sheet.bounds.len()).collect();
        let mut ask = |values: Option<&[i64]>| match values {
            Some(values) if allowed(values) => (Verdict::Yes, 0),
            Some(_) => (Verdict::No(Vec::new()), 0),
            None => (Verdict::Perhaps, 0),
        };
        let wanted = (i64::MAX, i64::MIN);
        let (outcome, _) = least(&sheet, &[columns], wanted, 1_000_000, &mut ask);
        prop_assert_eq!(outcome.found, best);
        prop_assert_eq!(outcome.least, best.unwrap_or(i64::MAX));
    }
}
