#![no_main]

#[expect(dead_code, reason = "each target drives one of them")]
#[path = "../bodies.rs"]
mod bodies;

libfuzzer_sys::fuzz_target!(|data: &[u8]| bodies::plain_rows(data));
