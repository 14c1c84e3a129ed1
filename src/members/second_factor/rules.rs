//! Codes by time (RFC 6238) and how recovery codes are written.

use totp_rs::{Algorithm, Builder, Totp};

use crate::clock::Moment;

/// How long one code is shown, in seconds; RFC 6238 section 5.2 recommends 30.
const STEP_S: u64 = 30;
/// How many steps a clock may go wrong either way; RFC 6238 section 5.2 recommends one.
const SKEW: u16 = 1;
/// Bytes of a recovery code: 120 bits, more than the 112 from which on a plain hash will do (OWASP
/// ASVS 5.0, 6.5.2).
pub(super) const RECOVERY_BYTES: usize = 15;

const LETTERS: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

fn totp(secret: &[u8], digits: u8) -> Totp {
    Builder::new()
        .with_algorithm(Algorithm::SHA1)
        .with_digits(digits)
        .with_skew(SKEW)
        .with_step_duration(STEP_S)
        .with_secret(secret.to_vec())
        .build_noncompliant()
}

/// The half minute whose code this is, if it is the present one or a neighbour.
pub(super) fn step_of(secret: &[u8], typed: &str, now: Moment) -> Option<i64> {
    let digits: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
    if digits.len() != 6 || !digits.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    let step = totp(secret, 6).check(&digits, u64::try_from(now.0).ok()?)?;
    i64::try_from(step).ok()
}

/// Bytes in the letters of RFC 4648 section 6, without the filling at the end.
pub(super) fn base32(bytes: &[u8]) -> String {
    let mut out = String::new();
    let (mut held, mut bits) = (0_u32, 0_u32);
    let mut write = |five: u32| {
        let place = usize::try_from(five & 31).unwrap_or(0);
        out.push(char::from(LETTERS.get(place).copied().unwrap_or(b'A')));
    };
    for byte in bytes {
        held = (held << 8) | u32::from(*byte);
        bits += 8;
        while bits >= 5 {
            bits -= 5;
            write(held >> bits);
        }
        held &= (1 << bits) - 1;
    }
    if bits > 0 {
        write(held << (5 - bits));
    }
    out
}

/// Letters in groups of four, as they are read and typed.
pub(super) fn in_fours(text: &str, between: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let groups: Vec<String> = letters.chunks(4).map(|four| four.iter().collect()).collect();
    groups.join(between)
}

/// A recovery code as typed, without what stands between its letters; nothing if it is none.
pub(super) fn recovery_code(typed: &str) -> Option<String> {
    let letters: String = typed
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .map(|c| c.to_ascii_uppercase())
        .collect();
    let fits =
        letters.len() == RECOVERY_BYTES * 8 / 5 && letters.bytes().all(|b| LETTERS.contains(&b));
    fits.then_some(letters)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// RFC 6238 appendix B: the secret of its table for SHA-1.
    const SECRET: &[u8] = b"12345678901234567890";

    #[test]
    fn codes_are_those_of_rfc_6238_appendix_b() {
        for (at, code) in [
            (59, "94287082"),
            (1_111_111_109, "07081804"),
            (1_111_111_111, "14050471"),
            (1_234_567_890, "89005924"),
            (2_000_000_000, "69279037"),
            (20_000_000_000_u64, "65353130"),
        ] {
            assert_eq!(totp(SECRET, 8).generate(at).to_string(), code, "at {at}");
            // RFC 4226 section 5.3: fewer digits are the last ones of more.
            let now = Moment(i64::try_from(at).unwrap());
            assert_eq!(step_of(SECRET, &code[2..], now), Some(now.0 / 30), "at {at}");
        }
    }

    #[test]
    fn a_code_holds_for_its_half_minute_and_a_neighbour() {
        let (code, step) = ("287082", 59 / 30);
        for (at, seen) in [(0, true), (30, true), (59, true), (60, true), (89, true), (90, false)] {
            let wanted = seen.then_some(step);
            assert_eq!(step_of(SECRET, code, Moment(at)), wanted, "at {at}");
        }
        assert_eq!(step_of(SECRET, "287 082", Moment(59)), Some(step));
        for wrong in ["", "287083", "28708", "2870820", "２８７０８２", "-87082"] {
            assert_eq!(step_of(SECRET, wrong, Moment(59)), None, "{wrong}");
        }
        assert_eq!(step_of(SECRET, code, Moment(-1)), None);
    }

    #[test]
    fn letters_are_those_of_rfc_4648_section_10() {
        for (plain, written) in [
            ("", ""),
            ("f", "MY"),
            ("fo", "MZXQ"),
            ("foo", "MZXW6"),
            ("foob", "MZXW6YQ"),
            ("fooba", "MZXW6YTB"),
            ("foobar", "MZXW6YTBOI"),
        ] {
            assert_eq!(base32(plain.as_bytes()), written);
        }
    }

    proptest! {
        #[test]
        fn a_recovery_code_is_read_back_as_written(bytes in proptest::array::uniform15(any::<u8>())) {
            let plain = base32(&bytes);
            let shown = in_fours(&plain, "-");
            prop_assert_eq!(shown.len(), 29);
            prop_assert_eq!(recovery_code(&shown.to_lowercase()), Some(plain));
        }

        #[test]
        fn nothing_typed_makes_it_panic(typed in "\\PC{0,40}", at in any::<i64>()) {
            let _ = step_of(SECRET, &typed, Moment(at));
            let _ = recovery_code(&typed);
        }
    }
}
