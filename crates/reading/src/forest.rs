//! An Earley chart over a lattice of tokens, with a shared packed forest, and the k best values of its root.
//!
//! Positions are the places between words; an [`Edge`] is a terminal from one place to a later one, so that a word
//! may be several terminals and a phrase may be one. Items and their links are the binarised forest: nothing is
//! copied for the readings it stands for. Values are built bottom up; of two values that an arithmetic cannot
//! tell apart (the same [`Build::likeness`]) only the cheaper one is kept.
//!
//! Limits: rules have no empty right sides, and no rule derives itself from one symbol; a value list is cut at
//! [`WIDTH`].

use std::ops::Range;

use rustc_hash::{FxBuildHasher, FxHashMap};
use smallvec::SmallVec;

use crate::grammar::{Grammar, Name, Rule, Symbol, Terminal};

/// How many values a place in the forest keeps. More would keep readings that are far from the best; the value
/// is a guess that left room to spare in the dev corpus.
pub const WIDTH: usize = 16;

/// Items that a place has, roughly: room is made for so many beforehand.
const ITEMS: usize = 48;

/// A terminal from one place to a later one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Where it ends.
    pub to: u32,
    /// What it is.
    pub terminal: Terminal,
    /// Index of its payload with whoever made the lattice.
    pub payload: u32,
    /// Nats against it.
    pub cost: f64,
}

/// Builds values from the forest.
pub trait Build {
    /// What a rule stands for.
    type Value: Clone;

    /// The value of an edge.
    fn edge(&mut self, edge: &Edge) -> Self::Value;

    /// The values of a rule's right side, each with further cost; none where the parts do not go together.
    fn rule(&mut self, action: &str, parts: &[Self::Value]) -> Vec<(f64, Self::Value)>;

    /// The values of a rule whose action ends in `*`: all readings of its one part are given at once, cheapest
    /// first, and become what this returns.
    fn gather(&mut self, action: &str, readings: Vec<(f64, Self::Value)>) -> Vec<(f64, Self::Value)>;

    /// How many values of this kind one place may keep; at most [`WIDTH`] are.
    fn width(&self, value: &Self::Value) -> usize;

    /// Two values with the same likeness are one reading; the cheaper is kept.
    fn likeness(&self, value: &Self::Value) -> u64;
}

/// A parsed stretch of the lattice.
pub struct Forest<'g> {
    grammar: &'g Grammar,
    edges: &'g [Vec<Edge>],
    sets: Vec<Vec<Item>>,
    /// The rule names that were found from one place to another, in the order in which they were.
    nodes: FxHashMap<Stretch, u32>,
    /// The finished items of each.
    derivations: Vec<SmallVec<[ItemId; 2]>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct ItemId {
    set: u32,
    index: u32,
}

struct Item {
    rule: usize,
    dot: usize,
    start: u32,
    links: SmallVec<[(Option<ItemId>, Child); 1]>,
}

#[derive(Clone, Copy)]
enum Child {
    Edge { from: u32, index: u32 },
    Node(u32),
}

impl<'g> Forest<'g> {
    /// Parses a lattice: `edges[i]` are the edges that begin at place i; `breaks[i]` says what may begin
    /// there ([`Grammar::break_before`]).
    pub fn parse(grammar: &'g Grammar, edges: &'g [Vec<Edge>], breaks: &[u8], start: Name) -> Forest<'g> {
        let places = edges.len() + 1;
        let mut ahead = vec![0u128; places];
        let mut here = vec![0u128; places];
        for place in (0..edges.len()).rev() {
            let bits = |all, edge: &Edge| {
                if edge.terminal.bit() == 0 { u128::MAX } else { all | edge.terminal.bit() }
            };
            here[place] = edges[place].iter().fold(0, bits);
            ahead[place] = edges[place].iter().fold(ahead[place + 1], |all, edge| all | edge.terminal.bit());
        }
        let mut chart = Chart {
            ahead,
            here,
            forest: Forest {
                grammar,
                edges,
                sets: (0..places).map(|_| Vec::new()).collect(),
                nodes: FxHashMap::default(),
                derivations: Vec::new(),
            },
            known: FxHashMap::with_capacity_and_hasher(ITEMS * places, FxBuildHasher),
            waiting: vec![Vec::new(); places],
            predicted: vec![vec![false; grammar.name_count()]; places],
        };
        chart.predict(0, start, breaks);
        for place in 0..places {
            chart.fill(place, breaks);
        }
        chart.forest
    }

    /// The best values of a rule over the whole lattice, cheapest first.
    pub fn best<B: Build>(&self, start: Name, build: &mut B) -> Vec<(f64, B::Value)> {
        let Some(root) = self.root(start) else { return Vec::new() };
        let mut all = 0;
        let first_item = self
            .sets
            .iter()
            .map(|set| {
                let first = all;
                all += u32::try_from(set.len()).unwrap_or(u32::MAX);
                first
            })
            .collect();
        let mut walk = Walk {
            forest: self,
            build,
            nodes: vec![None; self.derivations.len()],
            values: Vec::new(),
            items: vec![None; all as usize],
            partials: Vec::new(),
            first_item,
        };
        let best = walk.node(root);
        walk.values.get(place(&best)).map(<[_]>::to_vec).unwrap_or_default()
    }

    /// The node of a rule over the whole lattice, if it has a parse.
    fn root(&self, start: Name) -> Option<u32> {
        let end = u32::try_from(self.edges.len()).unwrap_or(u32::MAX);
        self.nodes.get(&(start, 0, end)).copied()
    }

    /// How many parses a rule has over the whole lattice, modulo 2^128.
    pub fn count(&self, start: Name) -> u128 {
        let items = self.sets.iter().map(|set| vec![None; set.len()]).collect();
        let nodes = vec![None; self.derivations.len()];
        self.root(start).map_or(0, |root| Tally { forest: self, nodes, items }.node(root))
    }

    fn item(&self, id: ItemId) -> &Item {
        &self.sets[id.set as usize][id.index as usize]
    }

    fn rule_of(&self, item: &Item) -> &'g Rule {
        self.grammar.rule(item.rule)
    }
}

struct Chart<'g> {
    forest: Forest<'g>,
    /// The terminals that begin at each place or later, as bits.
    ahead: Vec<u128>,
    /// The terminals that begin at each place, as bits.
    here: Vec<u128>,
    /// The items begun of the place being filled and of later ones, by place and start, rule and dot.
    known: FxHashMap<(u64, u32), u32>,
    /// The items of each place that wait for a rule, by the rule's name.
    waiting: Vec<Vec<(Name, SmallVec<[ItemId; 4]>)>>,
    predicted: Vec<Vec<bool>>,
}

impl Chart<'_> {
    fn predict(&mut self, place: usize, name: Name, breaks: &[u8]) {
        let barred = self.forest.grammar.break_before(name) > breaks.get(place).copied().unwrap_or(0);
        if barred || std::mem::replace(&mut self.predicted[place][name.0 as usize], true) {
            return;
        }
        let grammar = self.forest.grammar;
        for &rule in grammar.rules_of(name) {
            let lacks = grammar.needs(rule) & !self.ahead[place] != 0;
            if lacks || grammar.begins(rule) & self.here[place] == 0 {
                continue;
            }
            // A name is predicted once at a place, so that none of these items stands there yet.
            let start = u32::try_from(place).unwrap_or(u32::MAX);
            self.forest.sets[place].push(Item { rule, dot: 0, start, links: SmallVec::new() });
        }
    }

    fn add(&mut self, place: usize, rule: usize, dot: usize, start: u32, link: (Option<ItemId>, Child)) {
        let set = &mut self.forest.sets[place];
        let fresh = u32::try_from(set.len()).unwrap_or(u32::MAX);
        let key = ((place as u64) << 32 | u64::from(start), (rule as u32) << 16 | dot as u32);
        let index = *self.known.entry(key).or_insert(fresh);
        if index == fresh {
            set.push(Item { rule, dot, start, links: SmallVec::new() });
        }
        set[index as usize].links.push(link);
    }

    /// Works through the items of one place until no more come.
    fn fill(&mut self, place: usize, breaks: &[u8]) {
        let mut next = 0;
        while next < self.forest.sets[place].len() {
            let id = ItemId {
                set: u32::try_from(place).unwrap_or(u32::MAX),
                index: u32::try_from(next).unwrap_or(u32::MAX),
            };
            next += 1;
            let item = self.forest.item(id);
            let (rule, dot, start) = (item.rule, item.dot, item.start);
            let symbol = self.forest.grammar.rule(rule).right.get(dot).copied();
            match symbol {
                Some(Symbol::Terminal(terminal)) => self.scan(place, id, terminal),
                Some(Symbol::Name(name)) => {
                    let waiting = &mut self.waiting[place];
                    match waiting.iter_mut().find(|(known, _)| *known == name) {
                        Some((_, items)) => items.push(id),
                        None => waiting.push((name, SmallVec::from_slice(&[id]))),
                    }
                    self.predict(place, name, breaks);
                }
                None => self.complete(place, id, rule, start),
            }
        }
    }

    fn scan(&mut self, place: usize, id: ItemId, terminal: Terminal) {
        let edges = self.forest.edges;
        for (index, edge) in edges.get(place).into_iter().flatten().enumerate() {
            if edge.terminal == terminal {
                let child = Child::Edge { from: id.set, index: u32::try_from(index).unwrap_or(u32::MAX) };
                self.advance(edge.to as usize, id, child);
            }
        }
    }

    fn advance(&mut self, place: usize, id: ItemId, child: Child) {
        let item = self.forest.item(id);
        let (rule, dot, start) = (item.rule, item.dot, item.start);
        let before = (dot > 0).then_some(id);
        self.add(place, rule, dot + 1, start, (before, child));
    }

    fn complete(&mut self, place: usize, id: ItemId, rule: usize, start: u32) {
        let name = self.forest.grammar.rule(rule).name;
        let key = (name, start, id.set);
        let fresh = u32::try_from(self.forest.derivations.len()).unwrap_or(u32::MAX);
        let node = *self.forest.nodes.entry(key).or_insert(fresh);
        if node < fresh {
            return self.forest.derivations[node as usize].push(id);
        }
        self.forest.derivations.push(SmallVec::from_slice(&[id]));
        // No item is added to a place before this one any more, so the list does not grow while it is read.
        let Some(at) = self.waiting[start as usize].iter().position(|(known, _)| *known == name) else {
            return;
        };
        for index in 0..self.waiting[start as usize][at].1.len() {
            let waiter = self.waiting[start as usize][at].1[index];
            self.advance(place, waiter, Child::Node(node));
        }
    }
}

/// A rule name from one place to another.
type Stretch = (Name, u32, u32);
type Values<V> = Vec<(f64, V)>;

/// The parts of an item up to its dot, each in one of its values: the last of them, and what stands before it.
#[derive(Clone, Copy)]
struct Partial {
    cost: f64,
    /// Index of the parts before the last among all partials, or [`NONE`].
    head: u32,
    /// Index of the last part among all values.
    last: u32,
}

/// There is no part before.
const NONE: u32 = u32::MAX;

/// Some of a list, by index.
type Run = Range<u32>;

fn place(run: &Run) -> Range<usize> {
    run.start as usize..run.end as usize
}

/// Takes values out of a forest. They lie in two lists, and everything else names them by index, so that a value is
/// neither copied nor counted for what it is a part of.
struct Walk<'f, 'g, B: Build> {
    forest: &'f Forest<'g>,
    build: &'f mut B,
    /// The values of each node.
    nodes: Vec<Option<Run>>,
    values: Values<B::Value>,
    /// The partials of each item, the items of one place after those of the place before.
    items: Vec<Option<Run>>,
    partials: Vec<Partial>,
    /// Where the items of each place begin.
    first_item: Vec<u32>,
}

impl<B: Build> Walk<'_, '_, B> {
    fn node(&mut self, node: u32) -> Run {
        if let Some(values) = &self.nodes[node as usize] {
            return values.clone();
        }
        let forest = self.forest;
        let mut values = Vec::new();
        for id in &forest.derivations[node as usize] {
            let rule = forest.rule_of(forest.item(*id));
            let partials = self.item(*id);
            let partials = partials.start..partials.end;
            if let Some(action) = rule.action.as_deref().and_then(|action| action.strip_suffix('*')) {
                let readings = self.partials[place(&partials)]
                    .iter()
                    .filter(|partial| partial.head == NONE)
                    .map(|partial| (partial.cost + rule.cost, self.values[partial.last as usize].1.clone()))
                    .collect();
                values.extend(self.build.gather(action, readings));
                continue;
            }
            for at in partials {
                let cost = self.partials[at as usize].cost;
                let parts = self.parts(at);
                match &rule.action {
                    None => values.extend(parts.into_iter().next().map(|value| (cost + rule.cost, value))),
                    Some(action) => {
                        let built = self.build.rule(action, &parts);
                        values
                            .extend(built.into_iter().map(|(more, value)| (cost + rule.cost + more, value)));
                    }
                }
            }
        }
        let values = self.keep(values);
        let run = added(&mut self.values, values);
        self.nodes[node as usize] = Some(run.clone());
        run
    }

    /// The values of the parts of a partial, from the first to the last.
    fn parts(&self, at: u32) -> SmallVec<[B::Value; 4]> {
        let mut parts = SmallVec::new();
        let mut next = Some(&self.partials[at as usize]);
        while let Some(partial) = next {
            parts.push(self.values[partial.last as usize].1.clone());
            next = self.partials.get(partial.head as usize);
        }
        parts.reverse();
        parts
    }

    /// The cheapest values, one of each likeness.
    fn keep(&mut self, mut values: Values<B::Value>) -> Values<B::Value> {
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut seen: SmallVec<[u64; WIDTH]> = SmallVec::new();
        values.retain(|(_, value)| {
            if seen.len() >= self.build.width(value).min(WIDTH) {
                return false;
            }
            let likeness = self.build.likeness(value);
            let fresh = !seen.contains(&likeness);
            if fresh {
                seen.push(likeness);
            }
            fresh
        });
        values
    }

    fn item(&mut self, id: ItemId) -> Run {
        let slot = (self.first_item[id.set as usize] + id.index) as usize;
        if let Some(partials) = &self.items[slot] {
            return partials.clone();
        }
        let forest = self.forest;
        let links = &forest.item(id).links;
        let sides: SmallVec<[(Option<Run>, Run); 2]> = links.iter().map(|link| self.sides(link)).collect();
        let mut pairs: SmallVec<[Partial; 32]> = SmallVec::new();
        for (heads, lasts) in sides {
            let mut pair = |head: u32, head_cost: f64| {
                let values = lasts.clone().zip(&self.values[place(&lasts)]);
                pairs.extend(values.map(|(last, (cost, _))| Partial { cost: head_cost + cost, head, last }));
            };
            match heads {
                Some(heads) => heads.for_each(|head| pair(head, self.partials[head as usize].cost)),
                None => pair(NONE, 0.0),
            }
        }
        // Only the cheapest are kept, in the order they were found where they cost the same.
        pairs.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        pairs.truncate(WIDTH * 2);
        let run = added(&mut self.partials, pairs);
        self.items[slot] = Some(run.clone());
        run
    }

    /// The values before the last part of an item, and those of the last part.
    fn sides(&mut self, (before, child): &(Option<ItemId>, Child)) -> (Option<Run>, Run) {
        let last = match *child {
            Child::Edge { from, index } => {
                let edge = &self.forest.edges[from as usize][index as usize];
                let value = self.build.edge(edge);
                added(&mut self.values, [(edge.cost, value)])
            }
            Child::Node(node) => self.node(node),
        };
        (before.map(|before| self.item(before)), last)
    }
}

/// Puts some more on a list, and says where they are.
fn added<T>(list: &mut Vec<T>, more: impl IntoIterator<Item = T>) -> Run {
    let here = |list: &Vec<T>| u32::try_from(list.len()).unwrap_or(NONE);
    let first = here(list);
    list.extend(more);
    first..here(list)
}

/// Counts parses bottom up.
struct Tally<'f, 'g> {
    forest: &'f Forest<'g>,
    nodes: Vec<Option<u128>>,
    /// The parses of each item, by place.
    items: Vec<Vec<Option<u128>>>,
}

impl Tally<'_, '_> {
    fn node(&mut self, node: u32) -> u128 {
        if let Some(known) = self.nodes[node as usize] {
            return known;
        }
        let derivations = &self.forest.derivations[node as usize];
        let all = derivations.iter().fold(0u128, |all, id| all.wrapping_add(self.item(*id)));
        self.nodes[node as usize] = Some(all);
        all
    }

    fn item(&mut self, id: ItemId) -> u128 {
        let (set, index) = (id.set as usize, id.index as usize);
        if let Some(known) = self.items[set][index] {
            return known;
        }
        let mut all = 0u128;
        for (before, child) in &self.forest.item(id).links {
            let last = match *child {
                Child::Edge { .. } => 1,
                Child::Node(node) => self.node(node),
            };
            all = all.wrapping_add(before.map_or(1, |before| self.item(before)).wrapping_mul(last));
        }
        self.items[set][index] = Some(all);
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts readings: every value is one reading, none is like another.
    struct Count(u64);

    impl Build for Count {
        type Value = u64;

        fn edge(&mut self, _: &Edge) -> u64 {
            self.0 += 1;
            self.0
        }

        fn rule(&mut self, _: &str, _: &[u64]) -> Vec<(f64, u64)> {
            self.0 += 1;
            vec![(0.0, self.0)]
        }

        fn gather(&mut self, _: &str, readings: Vec<(f64, u64)>) -> Vec<(f64, u64)> {
            readings
        }

        fn width(&self, _: &u64) -> usize {
            WIDTH
        }

        fn likeness(&self, value: &u64) -> u64 {
            *value
        }
    }

    #[test]
    fn a_run_has_as_many_readings_as_it_has_bracketings() {
        let mut grammar = Grammar::parse("e = A\n| e e -> pair").unwrap();
        let start = grammar.find_name("e").unwrap();
        let a = grammar.terminal("A");
        for (length, readings) in [(1, 1), (2, 1), (3, 2), (4, 5), (5, 14)] {
            let edges: Vec<Vec<Edge>> =
                (1..=length).map(|to| vec![Edge { to, terminal: a, payload: 0, cost: 0.0 }]).collect();
            let forest = Forest::parse(&grammar, &edges, &[], start);
            assert_eq!(forest.best(start, &mut Count(0)).len(), readings, "length {length}");
            assert_eq!(forest.count(start), readings as u128, "length {length}");
        }
    }

    #[test]
    fn a_phrase_and_its_words_are_both_read() {
        let mut grammar = Grammar::parse("s = A B -> two\n| C ~1 -> one").unwrap();
        let start = grammar.find_name("s").unwrap();
        let mut edge = |to, name: &str| Edge { to, terminal: grammar.terminal(name), payload: 0, cost: 0.0 };
        let edges = vec![vec![edge(1, "A"), edge(2, "C")], vec![edge(2, "B")]];
        let best = Forest::parse(&grammar, &edges, &[], start).best(start, &mut Count(0));
        assert_eq!(best.iter().map(|(cost, _)| *cost).collect::<Vec<_>>(), [0.0, 1.0]);
        assert_eq!(Forest::parse(&grammar, &edges, &[], start).count(start), 2);
    }
}
