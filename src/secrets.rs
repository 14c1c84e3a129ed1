//! Random tokens, and the key that lives in a file outside the database.
//!
//! The database stores hashes of tokens only; links in letters are made from the key file when a
//! letter is sent. Whoever steals the database therefore holds nothing that opens a door.

use std::io::{Read, Write};
use std::path::Path;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit, Mac};
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;

use crate::error::Error;

/// The studio's key: 256 random bits.
#[derive(Clone)]
pub struct Key([u8; 32]);

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Key(hidden)")
    }
}

impl Key {
    /// Reads the key file, or makes one that only its owner may read.
    ///
    /// # Errors
    /// When the file can be neither read nor made, holds something else, or is open to others.
    pub fn load(path: &Path) -> Result<Key, Error> {
        let broken = |e| Error::broken(&format!("key file {}", path.display()), e);
        match std::fs::File::open(path) {
            Ok(mut file) => {
                shut(&file.metadata().map_err(broken)?, path)
                    .map_err(|sentence| Error::refused("key", sentence))?;
                let mut key = [0; 32];
                file.read_exact(&mut key).map_err(broken)?;
                Ok(Key(key))
            }
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                let key: [u8; 32] = rand::random();
                if let Some(folder) = path.parent() {
                    std::fs::create_dir_all(folder).map_err(broken)?;
                }
                match owner_only(path).and_then(|mut f| f.write_all(&key).and(f.sync_all())) {
                    Ok(()) => Ok(Key(key)),
                    // Another server on the same folder was quicker.
                    Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Key::load(path),
                    Err(e) => Err(broken(e)),
                }
            }
            Err(e) => Err(broken(e)),
        }
    }

    /// A print of the key, by which a server notices that it holds another studio's.
    #[must_use]
    pub fn print(&self) -> Vec<u8> {
        self.mac("print of the key").to_vec()
    }

    /// A seal over a text, as letters of a URL.
    #[must_use]
    pub fn seal(&self, text: &str) -> String {
        URL_SAFE_NO_PAD.encode(self.mac(text))
    }

    /// Whether this is the seal over that text, in constant time.
    #[must_use]
    pub fn is_seal(&self, text: &str, seal: &str) -> bool {
        self.seal(text).as_bytes().ct_eq(seal.as_bytes()).into()
    }

    /// 160 bits that belong to a text and to this key: what codes of a second factor are made from.
    #[must_use]
    pub fn bits(&self, text: &str) -> Vec<u8> {
        self.mac(text).into_iter().take(20).collect()
    }

    fn mac(&self, text: &str) -> [u8; 32] {
        #[expect(clippy::expect_used, reason = "HMAC takes keys of any length")]
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).expect("any length will do");
        mac.update(text.as_bytes());
        mac.finalize().into_bytes().into()
    }
}

/// Whether a file with a secret is shut to strangers: only its owner may change it, and nobody
/// outside its group may read it.
///
/// # Errors
/// A sentence with the remedy.
pub fn shut(about: &std::fs::Metadata, path: &Path) -> Result<(), String> {
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::MetadataExt::mode(about) & 0o777;
        if mode & 0o027 != 0 {
            return Err(format!(
                "{} holds a secret and has mode {mode:o}, so others can read or change it. Run: \
                 chmod 600 {}",
                path.display(),
                path.display()
            ));
        }
    }
    Ok(())
}

/// A new file that its owner alone may read and change.
///
/// # Errors
/// When it cannot be made, or is there already.
pub fn owner_only(path: &Path) -> std::io::Result<std::fs::File> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// A fresh token of 256 random bits, as letters of a URL. Shown once, stored as [`hash`] only.
#[must_use]
pub fn token() -> String {
    let bits: [u8; 32] = rand::random();
    URL_SAFE_NO_PAD.encode(bits)
}

/// What the database keeps of a token. Tokens are random, so a plain hash is enough.
#[must_use]
pub fn hash(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_file_is_made_once_and_sealed_texts_are_recognised() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep").join("secret.key");
        let (a, b) = (Key::load(&path).unwrap(), Key::load(&path).unwrap());
        assert_eq!(a.print(), b.print());
        let seal = a.seal("reset 7");
        assert!(b.is_seal("reset 7", &seal));
        assert!(!b.is_seal("reset 8", &seal) && !b.is_seal("reset 7", ""));
    }
}
