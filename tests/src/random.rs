//! A small deterministic source of choices (`SplitMix64`: Steele, Lea, Flood 2014, "Fast Splittable
//! Pseudorandom Number Generators"; constants from memory), so that a failing trace can be made
//! again from its seed.

/// A stream of choices.
#[derive(Debug, Clone)]
pub struct Choices {
    state: u64,
}

impl Choices {
    /// The stream of `seed`.
    pub const fn new(seed: u64) -> Self {
        Self { state: seed.wrapping_mul(0xD134_2543_DE82_EF95) }
    }

    /// The next 64 bits.
    pub const fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// A whole number from `least` to `greatest`, both included.
    pub const fn between(&mut self, least: i64, greatest: i64) -> i64 {
        let count = (greatest - least) as u64 + 1;
        least + (self.bits() % count) as i64
    }

    /// Whether something happens that happens `times` times in `of`.
    pub const fn chance(&mut self, times: i64, of: i64) -> bool {
        self.between(1, of) <= times
    }

    /// One of the values; they are not empty.
    pub fn one_of<T: Copy>(&mut self, values: &[T]) -> T {
        values[self.between(0, values.len() as i64 - 1) as usize]
    }
}
