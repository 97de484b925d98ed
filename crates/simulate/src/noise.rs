//! Random numbers that are the same on every machine.
//!
//! Only integer arithmetic, the four operations and the square root are used, all of which IEEE
//! 754 defines to the last bit; a library for distributions would call `exp` and `ln`, which
//! differ between platforms.

/// A stream of random numbers: `SplitMix64` (Steele, Lea and Flood, 2014; constants from memory,
/// held by a test against the published sequence).
#[derive(Debug, Clone)]
pub(crate) struct Noise {
    state: u64,
}

impl Noise {
    /// The stream number `stream` of `seed`. Each sensor and each disturbance has a stream of its
    /// own, so that a fault in one leaves the others as they were.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut mixer = Self { state: seed };
        let base = mixer.next();
        let mut own = Self { state: base ^ stream.wrapping_mul(0xD1B5_4A32_D192_ED03) };
        own.next();
        own
    }

    /// 64 random bits.
    pub fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut bits = self.state;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        bits ^ (bits >> 31)
    }

    /// A number around 0 with deviation 1 that never leaves −3 to 3: the sum of three uniform
    /// ones. A real sensor's noise has no far tails either, and so none can blur the truth.
    pub fn bell(&mut self) -> f64 {
        const PART: u64 = (1 << 21) - 1;
        let bits = self.next();
        let sum = (bits & PART) + ((bits >> 21) & PART) + ((bits >> 42) & PART);
        (sum as f64 - 1.5 * PART as f64) / (1_u64 << 20) as f64
    }
}

/// A slow random wander around 0, as of a steam pressure or a milk temperature.
#[derive(Debug, Clone)]
pub(crate) struct Wander {
    noise: Noise,
    pull: f64,
    kick: f64,
    value: f64,
}

impl Wander {
    /// A wander with the given deviation that forgets itself over `time_constant_s`, asked every
    /// `step_s`.
    pub fn new(noise: Noise, deviation: f64, time_constant_s: f64, step_s: f64) -> Self {
        let pull = step_s / time_constant_s;
        Self { noise, pull, kick: deviation * (2.0 * pull).sqrt(), value: 0.0 }
    }

    /// The value one step later.
    pub fn step(&mut self) -> f64 {
        self.value += self.kick * self.noise.bell() - self.pull * self.value;
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generator_is_the_published_one() {
        // The first outputs for the seed 1234567, as printed with many implementations of
        // SplitMix64 (from memory).
        let mut noise = Noise { state: 1_234_567 };
        let first: Vec<u64> = (0..3).map(|_| noise.next()).collect();
        assert_eq!(
            first,
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
        );
    }

    #[test]
    fn the_bell_has_mean_0_and_deviation_1() {
        let mut noise = Noise::new(1, 1);
        let draws: Vec<f64> = (0..100_000).map(|_| noise.bell()).collect();
        let mean = draws.iter().sum::<f64>() / 1e5;
        let variance = draws.iter().map(|draw| draw * draw).sum::<f64>() / 1e5;
        assert!(mean.abs() < 0.02 && (variance - 1.0).abs() < 0.02, "{mean} {variance}");
        assert!(draws.iter().all(|draw| draw.abs() <= 3.0));
    }

    #[test]
    fn a_wander_keeps_its_deviation() {
        let mut wander = Wander::new(Noise::new(7, 3), 0.5, 20.0, 0.1);
        let values: Vec<f64> = (0..400_000).map(|_| wander.step()).collect();
        let variance = values.iter().map(|value| value * value).sum::<f64>() / 4e5;
        assert!((variance.sqrt() - 0.5).abs() < 0.05, "{}", variance.sqrt());
    }
}
