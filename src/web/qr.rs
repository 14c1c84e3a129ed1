//! QR codes: the shape of one, for a template to draw.

use serde::Serialize;

use crate::error::Error;

/// A QR code as one path on a grid of whole modules, with its quiet zone of four.
#[derive(Clone, Debug, Serialize)]
pub struct Qr {
    /// Modules on a side, the quiet zone included.
    pub side: usize,
    /// The dark modules as a path.
    pub path: String,
}

/// The QR code of a text, with a fourth of it able to get lost.
///
/// # Errors
/// When the text is too long for any code.
pub fn qr(text: &str) -> Result<Qr, Error> {
    let code = qrcode::QrCode::with_error_correction_level(text.as_bytes(), qrcode::EcLevel::Q)
        .map_err(|e| Error::broken("making a QR code", e))?;
    let width = code.width();
    let mut path = String::new();
    for (place, colour) in code.to_colors().into_iter().enumerate() {
        if colour == qrcode::Color::Dark {
            let (x, y) = (place % width + 4, place / width + 4);
            path.push_str(&format!("M{x} {y}h1v1h-1z"));
        }
    }
    Ok(Qr { side: width + 8, path })
}
