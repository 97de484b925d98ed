//! Bytes as text: lower-case hexadecimal and nothing else, so that each value has one spelling.

/// Bytes in lower-case hexadecimal.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The `N` bytes whose [`hexadecimal`] is `text`; `None` for any other text.
pub fn from_hexadecimal<const N: usize>(text: &str) -> Option<[u8; N]> {
    let mut bytes = [0; N];
    for (place, pair) in bytes.iter_mut().zip(text.as_bytes().chunks(2)) {
        *place = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
    }
    (hexadecimal(&bytes) == text).then_some(bytes)
}
