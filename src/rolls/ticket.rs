//! Tickets: short, without characters that look alike, and with a check character that notices
//! one wrong character and any two changed places.

/// Digits and capitals without 0, 1, I, L and O: 31 characters, a prime number, so that a weighted
/// sum notices every single slip (the principle of ISO 7064; arithmetic checked below).
const LETTERS: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";

/// Characters before the check character.
const LENGTH: usize = 5;

/// The ticket of a number; numbers beyond 31^5 wrap round.
#[must_use]
pub(super) fn ticket(mut number: u32) -> String {
    let mut values = [0_usize; LENGTH];
    for value in values.iter_mut().rev() {
        *value = usize::try_from(number % 31).unwrap_or_default();
        number /= 31;
    }
    let check = check(&values);
    values.iter().chain([&check]).filter_map(|v| LETTERS.get(*v)).map(|b| char::from(*b)).collect()
}

/// What was typed or scanned, as a ticket; spaces, hyphens and small letters are forgiven.
#[must_use]
pub(super) fn read(typed: &str) -> Option<String> {
    let plain: String = typed
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .map(|c| c.to_ascii_uppercase())
        .collect();
    let values: Option<Vec<usize>> =
        plain.bytes().map(|b| LETTERS.iter().position(|l| *l == b)).collect();
    let values = values.filter(|v| v.len() == LENGTH + 1)?;
    let (last, first) = values.split_last()?;
    (check(first) == *last).then_some(plain)
}

fn check(values: &[usize]) -> usize {
    values.iter().zip(2..).map(|(v, weight)| v * weight).sum::<usize>() % 31
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn small_letters_and_spaces_are_forgiven_and_look_alikes_are_not_there() {
        let t = ticket(12_345_678);
        let spaced = format!(" {}-{} ", &t[..3].to_lowercase(), &t[3..]);
        assert_eq!(read(&spaced), Some(t));
        assert!("01ILO".bytes().all(|b| !LETTERS.contains(&b)));
    }

    proptest! {
        #[test]
        fn a_ticket_reads_back_and_one_slip_is_noticed(
            n in 0_u32..28_629_151, at in 0_usize..6, to in 0_usize..31,
        ) {
            let t = ticket(n);
            prop_assert_eq!(read(&t), Some(t.clone()));
            let mut slip = t.clone().into_bytes();
            slip[at] = LETTERS[to];
            let slip = String::from_utf8(slip).unwrap();
            prop_assert!(slip == t || read(&slip).is_none());
        }

        #[test]
        fn two_neighbours_changed_are_noticed(n in 0_u32..28_629_151, at in 0_usize..4) {
            let t = ticket(n);
            let mut slip = t.clone().into_bytes();
            slip.swap(at, at + 1);
            let slip = String::from_utf8(slip).unwrap();
            prop_assert!(slip == t || read(&slip).is_none());
        }

        #[test]
        fn nothing_typed_makes_it_panic(text in ".{0,40}") {
            let _ = read(&text);
        }
    }
}
