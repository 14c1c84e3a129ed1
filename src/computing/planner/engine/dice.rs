//! Chance that can be repeated: xoshiro256++ (Blackman and Vigna, public domain), seeded by
//! splitmix64.
#![allow(clippy::as_conversions, reason = "bits are cut and widened on purpose")]

/// A stream of numbers that a seed fixes.
pub(in super::super) struct Dice {
    state: [u64; 4],
}

impl Dice {
    /// The stream of a seed.
    pub(in super::super) fn new(seed: u64) -> Self {
        let mut word = seed;
        let mut next = || {
            word = word.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut mixed = word;
            mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            mixed ^ (mixed >> 31)
        };
        Self { state: [next(), next(), next(), next()] }
    }

    fn next(&mut self) -> u64 {
        let [a, b, c, d] = self.state;
        let out = a.wrapping_add(d).rotate_left(23).wrapping_add(a);
        let (c, d) = (c ^ a, d ^ b);
        let (b2, a2) = (b ^ c, a ^ d);
        self.state = [a2, b2, c ^ (b << 17), d.rotate_left(45)];
        out
    }

    /// A number below `many`; 0 where `many` is 0.
    pub(in super::super) fn below(&mut self, many: usize) -> usize {
        (((self.next() >> 32) * many as u64) >> 32) as usize
    }
}
