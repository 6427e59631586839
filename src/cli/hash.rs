//! The SHA-256 of a design file, so that a printed page says which file it was made of.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// The hash in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::sha256;

    #[test]
    fn the_hash_is_that_of_the_standard() {
        // NIST, FIPS 180-4 example values: one block, "abc".
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
