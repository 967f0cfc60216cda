//! An Earley chart over a lattice of tokens, with a shared packed forest, and the k best values of its root.
//!
//! Positions are the places between words; an [`Edge`] is a terminal from one place to a later one, so that a word
//! may be several terminals and a phrase may be one. Items and their links are the binarised forest: nothing is
//! copied for the readings it stands for. Values are built bottom up; of two values that an arithmetic cannot
//! tell apart (the same [`Build::likeness`]) only the cheaper one is kept.
//!
//! Limits: rules have no empty right sides, and no rule derives itself from one symbol; a value list is cut at
//! [`WIDTH`].

use std::rc::Rc;

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
    nodes: FxHashMap<Stretch, SmallVec<[ItemId; 2]>>,
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
    Node(Name, u32, u32),
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
        let end = u32::try_from(self.edges.len()).unwrap_or(u32::MAX);
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
        let items = vec![None; all as usize];
        let mut walk = Walk { forest: self, build, nodes: FxHashMap::default(), items, first_item };
        walk.node(start, 0, end).to_vec()
    }

    /// How many parses a rule has over the whole lattice, modulo 2^128.
    pub fn count(&self, start: Name) -> u128 {
        let end = u32::try_from(self.edges.len()).unwrap_or(u32::MAX);
        let items = self.sets.iter().map(|set| vec![None; set.len()]).collect();
        Tally { forest: self, nodes: FxHashMap::default(), items }.node((start, 0, end))
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
    /// The items of the place being filled and of later ones, by place, rule, dot and start.
    known: FxHashMap<(u32, u16, u16, u32), u32>,
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
            let start = u32::try_from(place).unwrap_or(u32::MAX);
            self.add(place, rule, 0, start, None);
        }
    }

    fn add(
        &mut self,
        place: usize,
        rule: usize,
        dot: usize,
        start: u32,
        link: Option<(Option<ItemId>, Child)>,
    ) {
        let set = &mut self.forest.sets[place];
        let fresh = u32::try_from(set.len()).unwrap_or(u32::MAX);
        let key = (u32::try_from(place).unwrap_or(u32::MAX), rule as u16, dot as u16, start);
        let index = *self.known.entry(key).or_insert(fresh);
        if index == fresh {
            set.push(Item { rule, dot, start, links: SmallVec::new() });
        }
        set[index as usize].links.extend(link);
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
        self.add(place, rule, dot + 1, start, Some((before, child)));
    }

    fn complete(&mut self, place: usize, id: ItemId, rule: usize, start: u32) {
        let name = self.forest.grammar.rule(rule).name;
        let key = (name, start, id.set);
        let derivations = self.forest.nodes.entry(key).or_default();
        derivations.push(id);
        if derivations.len() > 1 {
            return;
        }
        // No item is added to a place before this one any more, so the list does not grow while it is read.
        let Some(at) = self.waiting[start as usize].iter().position(|(known, _)| *known == name) else {
            return;
        };
        for index in 0..self.waiting[start as usize][at].1.len() {
            let waiter = self.waiting[start as usize][at].1[index];
            self.advance(place, waiter, Child::Node(name, start, id.set));
        }
    }
}

/// A rule name from one place to another.
type Stretch = (Name, u32, u32);
type Values<V> = Vec<(f64, V)>;
type Partials<V> = Vec<(f64, SmallVec<[V; 3]>)>;

struct Walk<'f, 'g, B: Build> {
    forest: &'f Forest<'g>,
    build: &'f mut B,
    nodes: FxHashMap<Stretch, Rc<Values<B::Value>>>,
    /// The values of each item, those of one place after those of the place before.
    items: Vec<Option<Rc<Partials<B::Value>>>>,
    /// Where the items of each place begin.
    first_item: Vec<u32>,
}

/// The values of the parts before the last, and of the last.
type Sides<V> = (Heads<V>, Rc<Values<V>>);

/// The values of the parts before the last one of an item; nothing where there is only one part.
struct Heads<V>(Option<Rc<Partials<V>>>);

impl<V> Heads<V> {
    fn costs(&self) -> impl Iterator<Item = f64> {
        let partials = self.0.as_ref();
        let none = partials.is_none().then_some(0.0);
        partials.into_iter().flat_map(|partials| partials.iter().map(|(cost, _)| *cost)).chain(none)
    }

    fn parts(&self, at: usize) -> &[V] {
        self.0.as_ref().map_or(&[], |partials| &partials[at].1)
    }
}

impl<B: Build> Walk<'_, '_, B> {
    fn node(&mut self, name: Name, start: u32, end: u32) -> Rc<Values<B::Value>> {
        let key = (name, start, end);
        if let Some(values) = self.nodes.get(&key) {
            return Rc::clone(values);
        }
        let derivations = self.forest.nodes.get(&key).cloned().unwrap_or_default();
        let mut values = Vec::new();
        for id in derivations {
            let rule = self.forest.rule_of(self.forest.item(id));
            if let Some(action) = rule.action.as_deref().and_then(|action| action.strip_suffix('*')) {
                let items = self.item(id);
                let parts = items.iter();
                let readings =
                    parts.filter_map(|(cost, parts)| Some((cost + rule.cost, parts.first()?.clone())));
                let readings = readings.collect();
                values.extend(self.build.gather(action, readings));
                continue;
            }
            for (cost, parts) in self.item(id).iter() {
                match &rule.action {
                    None => values.extend(parts.first().map(|value| (cost + rule.cost, value.clone()))),
                    Some(action) => {
                        let built = self.build.rule(action, parts);
                        values
                            .extend(built.into_iter().map(|(more, value)| (cost + rule.cost + more, value)));
                    }
                }
            }
        }
        let values = Rc::new(self.keep(values));
        self.nodes.insert(key, Rc::clone(&values));
        values
    }

    /// The cheapest values, one of each likeness.
    fn keep(&mut self, mut values: Values<B::Value>) -> Values<B::Value> {
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut seen = Vec::new();
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

    fn item(&mut self, id: ItemId) -> Rc<Partials<B::Value>> {
        let slot = (self.first_item[id.set as usize] + id.index) as usize;
        if let Some(partials) = &self.items[slot] {
            return Rc::clone(partials);
        }
        let forest = self.forest;
        let links = &forest.item(id).links;
        let sides: SmallVec<[Sides<B::Value>; 2]> = links.iter().map(|link| self.sides(link)).collect();
        let mut pairs: SmallVec<[(f64, u32, u16, u16); 32]> = SmallVec::new();
        for (link, (heads, last)) in (0..).zip(&sides) {
            for (at, head_cost) in (0..).zip(heads.costs()) {
                pairs.extend(
                    (0..).zip(last.iter()).map(|(with, (cost, _))| (head_cost + cost, link, at, with)),
                );
            }
        }
        // Only the cheapest are built, in the order they were found where they cost the same.
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        pairs.truncate(WIDTH * 2);
        let build = |&(cost, link, at, with): &(f64, u32, u16, u16)| {
            let (heads, last) = &sides[link as usize];
            let head = heads.parts(at as usize);
            (cost, head.iter().chain([&last[with as usize].1]).cloned().collect())
        };
        let out = Rc::new(pairs.iter().map(build).collect::<Partials<B::Value>>());
        self.items[slot] = Some(Rc::clone(&out));
        out
    }

    /// The values before the last part of an item, and those of the last part.
    fn sides(&mut self, (before, child): &(Option<ItemId>, Child)) -> Sides<B::Value> {
        let last = match *child {
            Child::Edge { from, index } => {
                let edge = &self.forest.edges[from as usize][index as usize];
                Rc::new(vec![(edge.cost, self.build.edge(edge))])
            }
            Child::Node(name, start, end) => self.node(name, start, end),
        };
        (Heads(before.map(|before| self.item(before))), last)
    }
}

/// Counts parses bottom up.
struct Tally<'f, 'g> {
    forest: &'f Forest<'g>,
    nodes: FxHashMap<Stretch, u128>,
    /// The parses of each item, by place.
    items: Vec<Vec<Option<u128>>>,
}

impl Tally<'_, '_> {
    fn node(&mut self, key: Stretch) -> u128 {
        if let Some(known) = self.nodes.get(&key) {
            return *known;
        }
        let derivations = self.forest.nodes.get(&key).map_or(&[][..], |derivations| derivations);
        let all = derivations.iter().fold(0u128, |all, id| all.wrapping_add(self.item(*id)));
        self.nodes.insert(key, all);
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
                Child::Node(name, start, end) => self.node((name, start, end)),
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
