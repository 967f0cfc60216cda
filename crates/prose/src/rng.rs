//! Chance from a seed: the same seed gives the same choices on every machine.
//!
//! The steps are those of SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
//! 2014). Good enough to draw idioms; not for secrets.

/// A seeded source of choices.
#[derive(Clone, Debug)]
pub struct Rng(u64);

impl Rng {
    /// A source for a seed.
    pub fn new(seed: u64) -> Rng {
        Rng(seed)
    }

    fn step(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `end`; 0 when `end` is 0.
    pub fn below(&mut self, end: u32) -> u32 {
        let end = u64::from(end);
        // Below a u32, so the cast loses nothing.
        if end == 0 { 0 } else { (self.step() % end) as u32 }
    }

    /// A number from `first` to `last`, both included; `first` when there is nothing between.
    pub fn between(&mut self, first: u32, last: u32) -> u32 {
        first + self.below(last.saturating_sub(first).saturating_add(1))
    }

    /// True in `percent` of a hundred cases.
    pub fn chance(&mut self, percent: u32) -> bool {
        self.below(100) < percent
    }

    /// One of some things; `None` when there are none.
    pub fn pick<'a, T>(&mut self, things: &'a [T]) -> Option<&'a T> {
        things.get(self.below(u32::try_from(things.len()).unwrap_or(u32::MAX)) as usize)
    }

    /// One of some things that have weights; `None` when all weigh nothing.
    pub fn weigh<T>(&mut self, things: impl IntoIterator<Item = (T, u32)>) -> Option<T> {
        let things: Vec<(T, u32)> = things.into_iter().collect();
        let total = things.iter().map(|(_, weight)| weight).sum();
        let mut at = self.below(total);
        for (thing, weight) in things {
            if at < weight {
                return Some(thing);
            }
            at -= weight;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_choices() {
        let draw = |seed| {
            let mut rng = Rng::new(seed);
            (0..20).map(|_| rng.between(3, 9)).collect::<Vec<_>>()
        };
        assert_eq!(draw(7), draw(7));
        assert_ne!(draw(7), draw(8));
        assert!(draw(1).iter().all(|number| (3..=9).contains(number)));
    }

    #[test]
    fn what_weighs_nothing_is_never_drawn() {
        let mut rng = Rng::new(1);
        assert!((0..100).all(|_| rng.weigh([('a', 0), ('b', 2)]) == Some('b')));
        assert_eq!(rng.weigh([('a', 0)]), None);
        assert_eq!(rng.pick::<u8>(&[]), None);
    }
}
