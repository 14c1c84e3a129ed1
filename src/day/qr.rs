//! A code of an address, as one path of black squares.

use serde::Serialize;

/// A drawn code: the side in modules with its quiet zone, and the path of its dark ones.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Code {
    side: usize,
    path: String,
}

/// The code of a text (ISO/IEC 18004, error correction level M); nothing where it is too long.
pub(super) fn code(text: &str) -> Option<Code> {
    const QUIET: usize = 4;
    let code = qrcode::QrCode::new(text).ok()?;
    let width = code.width();
    let mut path = String::new();
    for (n, colour) in code.to_colors().into_iter().enumerate() {
        if colour == qrcode::Color::Dark {
            let (x, y) = (n % width + QUIET, n / width + QUIET);
            path.push_str(&format!("M{x} {y}h1v1h-1z"));
        }
    }
    Some(Code { side: width + 2 * QUIET, path })
}
