#![no_main]
//! A fault put in on purpose, which nobody finds by chance: `scripts/fuzz.sh` shows with it that the fuzzer
//! is guided by what the program does.

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let is = |place: usize, byte: u8| std::hint::black_box(data.get(place) == Some(&byte));
    if is(0, b'h') && is(1, b'o') && is(2, b'l') && is(3, b'd') && is(4, b'm') && is(5, b'e') {
        panic!("put in on purpose");
    }
});
