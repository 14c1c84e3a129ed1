//! Runs as full as they can be, for a first answer that is seldom far from the bound.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::fullness::{Measure, Sizes},
    Search,
};

impl Search<'_, '_> {
    /// Measures by the weights of sizes that ask for most runs.
    pub(super) fn measure_by(&mut self, sizes: &Sizes, counts: &[usize]) {
        const KEPT: usize = 3;
        let measures = sizes.weights.iter().map(|weights| sizes.measure(weights));
        let mut measures: Vec<(usize, Measure)> =
            measures.map(|measure| (self.cut(counts, &measure), measure)).collect();
        measures.sort_by_key(|(runs, _)| std::cmp::Reverse(*runs));
        self.caps.measures.extend(measures.into_iter().take(KEPT).map(|(_, measure)| measure));
    }

    /// Another first answer: run after run as full as the weights of sizes ask for, around the
    /// window that closes first.
    pub(super) fn fill(&mut self, counts: &[usize], sizes: &Sizes, weights: &[i128]) {
        let mut left = counts.to_vec();
        let (mut runs, mut cost) = (Vec::new(), 0);
        while let Some(anchor) = left.iter().position(|count| *count > 0) {
            let end = self.window(anchor).0;
            let fits = |kind: usize| self.problem.items[self.kinds[kind].rolls[0]].least <= end;
            let mut there = vec![0; weights.len()];
            for kind in (anchor..left.len()).filter(|kind| fits(*kind)) {
                sizes.of[kind].iter().for_each(|size| there[*size] += left[kind]);
            }
            let mut asked = match sizes.of[anchor] {
                Some(size) => sizes.heaviest(weights, &there, size),
                None => Vec::new(),
            };
            let mut run = Vec::new();
            if sizes.of[anchor].is_none() {
                run.push((anchor, 1));
            }
            for kind in (anchor..left.len()).filter(|kind| fits(*kind)) {
                let Some(open) = sizes.of[kind].and_then(|size| asked.get_mut(size)) else {
                    continue;
                };
                let taken = left[kind].min(*open);
                *open -= taken;
                run.extend((taken > 0).then_some((kind, taken)));
            }
            run.iter().for_each(|(kind, taken)| left[*kind] -= taken);
            let Some(price) = self.price(&run) else { return };
            cost += price;
            runs.push(run);
        }
        if (runs.len(), cost) < self.best {
            self.best = (runs.len(), cost);
            self.best_runs = runs;
        }
    }

    /// What a run of so many of each kind costs; nothing where it is none.
    fn price(&self, run: &[(usize, usize)]) -> Option<i128> {
        let rolls: Vec<usize> =
            run.iter().flat_map(|(kind, n)| self.kinds[*kind].rolls[..*n].to_vec()).collect();
        let load = self.problem.load(&rolls).filter(|load| load.rolls > 0)?;
        self.problem.cheapest(self.family, &load).map(|(cost, _)| cost)
    }
}
