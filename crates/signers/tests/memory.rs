//! What is left of a private key in this process's own memory once it was used: nothing. The only
//! test of its program, so that no other one's keys are in the way.

#![cfg(target_os = "linux")]

#[expect(dead_code, reason = "other tests use the rest")]
mod common;
#[path = "common/outside.rs"]
mod outside;

use common::{folder, seconds};
use outside::openssl_says;
use signers::{Cost, KeyFolder};
use std::fs::{self, File};
use std::io::{Read as _, Seek as _, SeekFrom};
use std::path::Path;
use tests::good;
use tests::people::{id, passphrase};
use zeroize::{Zeroize as _, Zeroizing};

/// What is looked for is kept in another form, or it would be found here.
const MASK: u8 = 0xa5;

/// The secret of a key, masked. Another program decrypts it, and its last 32 bytes are read into
/// memory that is wiped.
fn masked(folder: &Path, key: &Path) -> Vec<u8> {
    let plain = folder.join("plain.der");
    openssl_says(
        folder,
        &[
            "pkey",
            "-in",
            &key.display().to_string(),
            "-passin",
            "env:HOLDTRACE_TEST_PASSPHRASE",
            "-outform",
            "DER",
            "-out",
            &plain.display().to_string(),
        ],
    );
    let mut bytes = Zeroizing::new([0; 32]);
    let mut file = good(File::open(plain));
    good(file.seek(SeekFrom::End(-32)).and_then(|_| file.read_exact(&mut *bytes)));
    bytes.iter().map(|byte| byte ^ MASK).collect()
}

/// How often the masked bytes are in this process's memory.
fn found(memory: &mut File, masked: &[u8]) -> usize {
    let maps = good(fs::read_to_string("/proc/self/maps"));
    let number = |text: &str| u64::from_str_radix(text, 16).unwrap_or_default();
    let mut part = Zeroizing::new(vec![0_u8; 1 << 20]);
    let own = part.as_ptr().addr() as u64..part.as_ptr().addr() as u64 + part.len() as u64;
    let mut count = 0;
    for line in maps.lines().filter(|line| line.contains(" rw")) {
        let range = line.split(' ').next().and_then(|range| range.split_once('-'));
        let Some((start, end)) = range.map(|(start, end)| (number(start), number(end))) else {
            panic!("{line}")
        };
        let mut at = start;
        while at < end {
            let length = part.len().min((end - at) as usize);
            let Some(bytes) = part.get_mut(..length) else { panic!("{length}") };
            let read = memory.seek(SeekFrom::Start(at)).and_then(|_| memory.read_exact(bytes));
            if read.is_ok() {
                let is_it = |window: &[u8]| window.iter().zip(masked).all(|(a, b)| a ^ MASK == *b);
                let first = masked.first().map(|byte| byte ^ MASK);
                count += bytes
                    .windows(masked.len())
                    .enumerate()
                    .filter(|(place, window)| {
                        window.first() == first.as_ref()
                            && !own.contains(&(at + *place as u64))
                            && is_it(window)
                    })
                    .count();
            }
            // What lies across two parts is in both.
            at += (length as u64).saturating_sub(masked.len() as u64).max(1);
            if length < part.len() {
                break;
            }
        }
    }
    part.zeroize();
    count
}

#[test]
fn nothing_of_a_private_key_stays_in_memory() {
    // Opened now: while a passphrase is in memory it could not be.
    let mut memory = good(File::open("/proc/self/mem"));
    let config = folder();
    let (keys, signer) = (KeyFolder::under(config.path()), id("m.ortega"));
    let made = keys.create(&signer, &passphrase(), Cost::STRONG);
    let made = good(made);
    let secret = masked(config.path(), &keys.path(&signer));
    assert!(found(&mut memory, &secret) > 0, "it is found while it is there");
    let signature = made.sign(b"a record");
    drop(made);
    assert_eq!(found(&mut memory, &secret), 0, "made, signed with and dropped");

    for _ in 0..3 {
        let key = keys.unlock(&signer, &passphrase(), seconds(0));
        let key = good(key);
        assert!(found(&mut memory, &secret) > 0);
        assert_eq!(key.sign(b"a record"), signature);
        // As the window does: on another thread.
        let key = std::thread::spawn(move || {
            let _signed = key.sign(b"another");
            key
        });
        drop(key.join());
        assert_eq!(found(&mut memory, &secret), 0, "unlocked, signed with and dropped");
    }
    let wrong = signers::Passphrase::new("something else entirely".to_owned());
    assert!(keys.unlock(&signer, &wrong, seconds(1)).is_err());
    assert_eq!(found(&mut memory, &secret), 0);

    let new = || signers::Passphrase::new("quite other words by now".to_owned());
    good(keys.change_passphrase(&signer, &passphrase(), &new(), Cost::STRONG, seconds(10)));
    assert_eq!(found(&mut memory, &secret), 0, "locked anew");
    assert!(keys.unlock(&signer, &new(), seconds(20)).is_ok());
    assert_eq!(found(&mut memory, &secret), 0);
}
