//! Passwords: how they are kept and compared. Slow on purpose, so never inside a transaction.

mod places;

use argon2::password_hash::phc::{Output, ParamsString, PasswordHash, Salt};
use argon2::{Algorithm, Argon2, Params, Version};

use self::places::Place;
use super::email::composed;
use crate::error::Error;

/// How a try went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Not this one.
    Wrong,
    /// This one.
    Right,
    /// This one, but kept in an older way: keep it afresh.
    RightButOld,
}

/// Memory in KiB, passes, lanes: OWASP's Argon2id minimum (Password Storage Cheat Sheet).
const FULL: (u32, u32, u32) = (19_456, 2, 1);
/// The least the algorithm takes; for tests alone.
const QUICK: (u32, u32, u32) = (8, 1, 1);

/// Salt and hash of nothing anybody types, for comparing where there is no account.
const NOBODY: &str = "bm9ib2R5aXNoZXJlIQ$T9HQtHvYR7TkGqzKYdtX1e1ZcLyeW3PUZlsWQ2o8Xbk";

fn cost(quick: bool) -> (u32, u32, u32) {
    if quick { QUICK } else { FULL }
}

fn hasher(quick: bool) -> Result<Argon2<'static>, Error> {
    let (memory, passes, lanes) = cost(quick);
    let params =
        Params::new(memory, passes, lanes, None).map_err(|e| Error::broken("password", e))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// What the database keeps of a password. `quick` is for tests alone.
///
/// # Errors
/// [`Error::Busy`] when too many are being worked on.
pub fn hash(quick: bool, password: &str) -> Result<String, Error> {
    let argon = hasher(quick)?;
    let salt = Salt::generate();
    let hash = work(&argon, &composed(password), &salt)?;
    let kept = PasswordHash {
        algorithm: Algorithm::Argon2id.ident(),
        version: Some(Version::V0x13.into()),
        params: ParamsString::try_from(argon.params()).map_err(|e| Error::broken("password", e))?,
        salt: Some(salt),
        hash: Some(hash),
    };
    Ok(kept.to_string())
}

/// Compares a password with what is kept. Where nothing is kept the same work is done, so that
/// the time taken does not tell whether there is an account.
///
/// # Errors
/// [`Error::Busy`] when too many are being worked on.
pub fn verify(quick: bool, kept: Option<&str>, password: &str) -> Result<Verdict, Error> {
    let (memory, passes, lanes) = cost(quick);
    let head = format!("$argon2id$v=19$m={memory},t={passes},p={lanes}$");
    let nobody = format!("{head}{NOBODY}");
    let known = PasswordHash::new(kept.unwrap_or(&nobody))
        .map_err(|e| Error::broken("kept password", e))?;
    let params = Params::try_from(&known).map_err(|e| Error::broken("kept password", e))?;
    let (Some(salt), Some(hash)) = (known.salt, known.hash) else {
        return Err(Error::broken("kept password", "it has no salt or no hash"));
    };
    let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    // Output compares in constant time.
    let fits = work(&argon, &composed(password), &salt)? == hash;
    Ok(match kept {
        Some(kept) if fits && kept.starts_with(&head) => Verdict::Right,
        Some(_) if fits => Verdict::RightButOld,
        _ => Verdict::Wrong,
    })
}

/// Fills a place's memory and reads the hash out of it.
fn work(argon: &Argon2<'_>, password: &str, salt: &[u8]) -> Result<Output, Error> {
    let mut place = Place::wait()?;
    let mut out = [0; Params::DEFAULT_OUTPUT_LEN];
    let memory = place.memory(argon.params().block_count());
    argon
        .hash_password_into_with_memory(password.as_bytes(), salt, &mut out, memory)
        .map_err(|e| Error::broken("password", e))?;
    Output::new(&out).map_err(|e| Error::broken("password", e))
}

/// Gives memory back that was not used lately. For the clock.
pub fn tidy() {
    places::tidy();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_recognised_however_its_accents_are_typed() {
        let kept = hash(true, "caf\u{e9} at the pier").unwrap();
        let tried = |p| verify(true, Some(&kept), p).unwrap();
        assert_eq!(tried("cafe\u{301} at the pier"), Verdict::Right);
        assert_eq!(tried("cafe at the pier"), Verdict::Wrong);
    }

    #[test]
    fn nobody_has_a_password_that_fits() {
        assert_eq!(verify(true, None, "").unwrap(), Verdict::Wrong);
        assert_eq!(verify(true, None, "nobodyishere").unwrap(), Verdict::Wrong);
    }

    #[test]
    fn what_was_kept_with_other_figures_fits_but_is_old() {
        let kept = hash(true, "a gannet over the harbour").unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=8,t=1,p=1$"));
        let verdict = verify(false, Some(&kept), "a gannet over the harbour").unwrap();
        assert_eq!(verdict, Verdict::RightButOld);
    }

    #[test]
    fn the_figures_of_a_real_server_are_the_published_ones() {
        // OWASP Password Storage Cheat Sheet: Argon2id, m = 19456 KiB, t = 2, p = 1.
        assert!(hash(false, "x").unwrap().starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
    }
}
