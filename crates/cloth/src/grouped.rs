//! Lists of things by the node they belong to, all in one list.

/// For each of some nodes, what belongs to it, in the order in which it was given.
#[derive(Clone, Debug)]
pub(crate) struct Grouped<T> {
    /// Where the things of each node begin; one entry more than nodes.
    first: Vec<u32>,
    things: Vec<T>,
}

impl<T: Copy + Default> Grouped<T> {
    /// Things by node; they are gone through twice.
    pub(crate) fn new(nodes: usize, things: impl Iterator<Item = (u32, T)> + Clone) -> Grouped<T> {
        let mut first = vec![0u32; nodes + 1];
        for (node, _) in things.clone() {
            first[node as usize + 1] += 1;
        }
        for node in 0..nodes {
            first[node + 1] += first[node];
        }
        let mut next = first.clone();
        let mut sorted = vec![T::default(); first[nodes] as usize];
        for (node, thing) in things {
            let place = &mut next[node as usize];
            sorted[*place as usize] = thing;
            *place += 1;
        }
        Grouped { first, things: sorted }
    }

    /// The number of things.
    pub(crate) fn total(&self) -> usize {
        self.things.len()
    }

    /// What belongs to a node.
    pub(crate) fn of(&self, node: usize) -> &[T] {
        &self.things[self.first[node] as usize..self.first[node + 1] as usize]
    }

    /// What belongs to a node, to be changed.
    pub(crate) fn of_mut(&mut self, node: usize) -> &mut [T] {
        &mut self.things[self.first[node] as usize..self.first[node + 1] as usize]
    }

    /// Puts the nodes of another after its own; `moved` says what its things become.
    pub(crate) fn append(&mut self, other: &Grouped<T>, moved: impl Fn(T) -> T) {
        let base = self.things.len() as u32;
        self.first.extend(other.first[1..].iter().map(|first| first + base));
        self.things.extend(other.things.iter().map(|&thing| moved(thing)));
    }

    /// Other things for the same nodes.
    pub(crate) fn map<U>(&self, of: impl Fn(&T) -> U) -> Grouped<U> {
        Grouped { first: self.first.clone(), things: self.things.iter().map(of).collect() }
    }
}

impl<T> Default for Grouped<T> {
    /// Of no nodes.
    fn default() -> Grouped<T> {
        Grouped { first: vec![0], things: Vec::new() }
    }
}
