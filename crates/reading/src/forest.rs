//! An Earley chart over a lattice of tokens, with a shared packed forest, and the k best values of its root.
//!
//! Positions are the places between words; an [`Edge`] is a terminal from one place to a later one, so that a word
//! may be several terminals and a phrase may be one. Items and their links are the binarised forest: nothing is
//! copied for the readings it stands for. An item is kept only where what it waits for next may begin, so that most
//! that lead nowhere never come about. Values are built bottom up; of two values that an arithmetic cannot
//! tell apart (the same [`Build::likeness`]) only the cheaper one is kept.
//!
//! Limits: rules have no empty right sides, and no rule derives itself from one symbol; a value list is cut at
//! [`WIDTH`].

use std::ops::Range;

use rustc_hash::{FxBuildHasher, FxHashMap};
use smallvec::SmallVec;

use crate::effort;
use crate::grammar::{Grammar, Name, Rule, Symbol, Terminal, TerminalSet};

/// How many values a place in the forest keeps. More would keep readings that are far from the best; the value
/// is a guess that left room to spare in the dev corpus.
pub const WIDTH: usize = 16;

/// How many ways to take the parts of an item up to its dot are kept.
const PAIRS: usize = WIDTH * 2;

/// Items that a place has, roughly: room is made for so many beforehand.
const ITEMS: usize = 32;

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
    items: Vec<Item>,
    /// The rule names that were found from one place to another, in the order in which they were.
    nodes: FxHashMap<Stretch, u32>,
    /// The finished items of each.
    derivations: Vec<SmallVec<[u32; 2]>>,
}

/// A rule worked up to its dot, from one place to another. Items name each other by index.
struct Item {
    rule: usize,
    dot: usize,
    start: u32,
    links: SmallVec<[Link; 1]>,
}

/// One way in which an item came about: the item up to the symbol before the dot, if one stands before that symbol, and
/// what the symbol is.
type Link = (Option<u32>, Child);

#[derive(Clone, Copy)]
enum Child {
    Edge { from: u32, index: u32 },
    Node(u32),
}

impl<'g> Forest<'g> {
    /// Parses a lattice: `edges[i]` are the edges that begin at place i; `breaks[i]` says what may begin
    /// there ([`Grammar::break_before`]).
    pub fn parse(grammar: &'g Grammar, edges: &'g [Vec<Edge>], breaks: &'g [u8], start: Name) -> Forest<'g> {
        let places = edges.len() + 1;
        let mut chart = Chart {
            outlook: Outlook::of(grammar, edges, breaks),
            forest: Forest {
                grammar,
                edges,
                items: Vec::with_capacity(ITEMS * places),
                nodes: FxHashMap::default(),
                derivations: Vec::new(),
            },
            sets: (0..places).map(|_| Vec::with_capacity(ITEMS)).collect(),
            known: FxHashMap::with_capacity_and_hasher(ITEMS * places, FxBuildHasher),
            wanted: vec![NONE; places * grammar.name_count()],
            waiting: Vec::new(),
        };
        chart.waiting_for(0, start);
        for place in 0..places {
            chart.fill(place);
        }
        effort::spend(effort::ITEM * chart.forest.items.len());
        chart.forest
    }

    /// The best values of a rule over the whole lattice, cheapest first.
    pub fn best<B: Build>(&self, start: Name, build: &mut B) -> Vec<(f64, B::Value)> {
        let Some(root) = self.root(start) else { return Vec::new() };
        let mut walk = Walk {
            forest: self,
            build,
            nodes: vec![None; self.derivations.len()],
            values: Vec::new(),
            items: vec![None; self.items.len()],
            partials: Vec::new(),
        };
        let best = walk.node(root);
        effort::spend(effort::VALUE * walk.partials.len());
        walk.values.get(place(&best)).map(<[_]>::to_vec).unwrap_or_default()
    }

    /// The node of a rule over the whole lattice, if it has a parse.
    fn root(&self, start: Name) -> Option<u32> {
        self.nodes.get(&(start, 0, index(self.edges.len()))).copied()
    }

    /// How many parses a rule has over the whole lattice, modulo 2^128.
    pub fn count(&self, start: Name) -> u128 {
        let items = vec![None; self.items.len()];
        let nodes = vec![None; self.derivations.len()];
        self.root(start).map_or(0, |root| Tally { forest: self, nodes, items }.node(root))
    }

    fn rule_of(&self, item: u32) -> &'g Rule {
        self.grammar.rule(self.items[item as usize].rule)
    }
}

/// What may begin at each place.
struct Outlook<'g> {
    grammar: &'g Grammar,
    breaks: &'g [u8],
    /// The terminals that begin at each place or later.
    ahead: Vec<TerminalSet>,
    /// The terminals that begin at each place.
    here: Vec<TerminalSet>,
}

impl<'g> Outlook<'g> {
    fn of(grammar: &'g Grammar, edges: &[Vec<Edge>], breaks: &'g [u8]) -> Outlook<'g> {
        let mut here = vec![TerminalSet::default(); edges.len() + 1];
        for (here, edges) in here.iter_mut().zip(edges) {
            *here = edges.iter().map(|edge| TerminalSet::of(edge.terminal)).fold(*here, TerminalSet::or);
        }
        let mut ahead = here.clone();
        for place in (0..edges.len()).rev() {
            ahead[place] = here[place].or(ahead[place + 1]);
        }
        Outlook { grammar, breaks, ahead, here }
    }

    /// The rules of a name that may begin at a place, in their order in the grammar.
    fn rules_of(&self, place: usize, name: Name) -> SmallVec<[usize; ITEMS]> {
        let begun = self.grammar.by_first(name).iter().filter(|(first, _)| self.shows(place, *first));
        let held = |rule: &&usize| self.grammar.needs(**rule).is_within(&self.ahead[place]);
        let mut rules: SmallVec<_> = begun.flat_map(|(_, rules)| rules).filter(held).copied().collect();
        rules.sort_unstable();
        rules
    }

    /// Whether a symbol may begin at a place.
    fn shows(&self, place: usize, symbol: Symbol) -> bool {
        match symbol {
            Symbol::Terminal(terminal) => self.here[place].has(terminal),
            Symbol::Name(name) => {
                self.grammar.break_before(name) <= self.breaks.get(place).copied().unwrap_or(0)
                    && self.grammar.begins(name).meets(&self.here[place])
            }
        }
    }
}

/// A forest that grows from place to place.
struct Chart<'g> {
    forest: Forest<'g>,
    outlook: Outlook<'g>,
    /// The items that end at each place.
    sets: Vec<Vec<u32>>,
    /// The items begun of the place being filled and of later ones, by place and start, rule and dot.
    known: FxHashMap<(u64, u32), u32>,
    /// For each place and rule name where the items that wait for it are listed, or [`NONE`].
    wanted: Vec<u32>,
    /// The items that wait for a rule name at a place.
    waiting: Vec<SmallVec<[u32; 4]>>,
}

impl Chart<'_> {
    /// The list of the items that wait for a rule name at a place; its rules begin there with the first of them.
    fn waiting_for(&mut self, place: usize, name: Name) -> usize {
        let slot = place * self.forest.grammar.name_count() + name.0 as usize;
        if self.wanted[slot] == NONE {
            self.wanted[slot] = index(self.waiting.len());
            self.waiting.push(SmallVec::new());
            if self.outlook.shows(place, Symbol::Name(name)) {
                for rule in self.outlook.rules_of(place, name) {
                    self.push(place, Item { rule, dot: 0, start: index(place), links: SmallVec::new() });
                }
            }
        }
        self.wanted[slot] as usize
    }

    fn push(&mut self, place: usize, item: Item) -> u32 {
        let id = index(self.forest.items.len());
        self.sets[place].push(id);
        self.forest.items.push(item);
        id
    }

    /// Works through the items of one place until no more come.
    fn fill(&mut self, place: usize) {
        let mut next = 0;
        while let Some(&id) = self.sets[place].get(next) {
            next += 1;
            let Item { rule, dot, start, .. } = self.forest.items[id as usize];
            match self.forest.grammar.rule(rule).right.get(dot) {
                Some(Symbol::Terminal(terminal)) => self.scan(place, id, *terminal),
                Some(Symbol::Name(name)) => {
                    let list = self.waiting_for(place, *name);
                    self.waiting[list].push(id);
                }
                None => self.complete(place, id, rule, start),
            }
        }
    }

    fn scan(&mut self, place: usize, id: u32, terminal: Terminal) {
        let edges = self.forest.edges;
        for (at, edge) in edges.get(place).into_iter().flatten().enumerate() {
            if edge.terminal == terminal {
                self.advance(edge.to as usize, id, Child::Edge { from: index(place), index: index(at) });
            }
        }
    }

    /// Moves the dot of an item on over a child that ends at a place, unless nothing that could follow begins there.
    fn advance(&mut self, place: usize, id: u32, child: Child) {
        let Item { rule, dot, start, .. } = self.forest.items[id as usize];
        let next = self.forest.grammar.rule(rule).right.get(dot + 1);
        if next.is_some_and(|next| !self.outlook.shows(place, *next)) {
            return;
        }
        let key = ((place as u64) << 32 | u64::from(start), (rule as u32) << 16 | (dot + 1) as u32);
        let known = self.known.get(&key).copied();
        let item = known.unwrap_or_else(|| {
            let item = self.push(place, Item { rule, dot: dot + 1, start, links: SmallVec::new() });
            self.known.insert(key, item);
            item
        });
        self.forest.items[item as usize].links.push(((dot > 0).then_some(id), child));
    }

    fn complete(&mut self, place: usize, id: u32, rule: usize, start: u32) {
        let name = self.forest.grammar.rule(rule).name;
        let fresh = index(self.forest.derivations.len());
        let node = *self.forest.nodes.entry((name, start, index(place))).or_insert(fresh);
        if node < fresh {
            return self.forest.derivations[node as usize].push(id);
        }
        self.forest.derivations.push(SmallVec::from_slice(&[id]));
        // No item is added to a place before this one any more, so the list does not grow while it is read.
        let list = self.wanted[start as usize * self.forest.grammar.name_count() + name.0 as usize] as usize;
        for at in 0..self.waiting[list].len() {
            self.advance(place, self.waiting[list][at], Child::Node(node));
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

/// The cheapest partials of an item.
struct Cheapest {
    found: SmallVec<[Partial; PAIRS * 2]>,
    /// What costs as much comes too late.
    limit: f64,
}

impl Cheapest {
    fn new() -> Self {
        Self { found: SmallVec::new(), limit: f64::INFINITY }
    }

    /// Puts one with the others, unless enough are as cheap.
    fn put(&mut self, partial: Partial) -> bool {
        if partial.cost >= self.limit {
            return false;
        }
        self.found.push(partial);
        if self.found.len() == PAIRS * 2 {
            self.cut();
            self.limit = self.found[PAIRS - 1].cost;
        }
        true
    }

    /// Keeps the cheapest, in the order they were found where they cost the same.
    fn cut(&mut self) {
        self.found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        self.found.truncate(PAIRS);
    }

    fn taken(mut self) -> SmallVec<[Partial; PAIRS * 2]> {
        self.cut();
        self.found
    }
}

/// The index of nothing.
const NONE: u32 = u32::MAX;

/// An index in few bytes; no list is as long as would not fit.
fn index(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(NONE)
}

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
    /// The partials of each item.
    items: Vec<Option<Run>>,
    partials: Vec<Partial>,
}

impl<B: Build> Walk<'_, '_, B> {
    fn node(&mut self, node: u32) -> Run {
        if let Some(values) = &self.nodes[node as usize] {
            return values.clone();
        }
        let forest = self.forest;
        let mut values = Vec::new();
        for id in &forest.derivations[node as usize] {
            let rule = forest.rule_of(*id);
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

    fn item(&mut self, id: u32) -> Run {
        if let Some(partials) = &self.items[id as usize] {
            return partials.clone();
        }
        let links = &self.forest.items[id as usize].links;
        let sides: SmallVec<[(Option<Run>, Run); 2]> = links.iter().map(|link| self.sides(link)).collect();
        let mut pairs = Cheapest::new();
        for (heads, lasts) in sides {
            let mut pair = |head: u32, head_cost: f64| {
                for (last, (cost, _)) in lasts.clone().zip(&self.values[place(&lasts)]) {
                    if !pairs.put(Partial { cost: head_cost + cost, head, last }) {
                        break;
                    }
                }
            };
            match heads {
                Some(heads) => heads.for_each(|head| pair(head, self.partials[head as usize].cost)),
                None => pair(NONE, 0.0),
            }
        }
        let pairs = pairs.taken();
        let run = added(&mut self.partials, pairs);
        self.items[id as usize] = Some(run.clone());
        run
    }

    /// The values before the last part of an item, and those of the last part.
    fn sides(&mut self, (before, child): &Link) -> (Option<Run>, Run) {
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
    let first = index(list.len());
    list.extend(more);
    first..index(list.len())
}

/// Counts parses bottom up.
struct Tally<'f, 'g> {
    forest: &'f Forest<'g>,
    nodes: Vec<Option<u128>>,
    /// The parses of each item.
    items: Vec<Option<u128>>,
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

    fn item(&mut self, id: u32) -> u128 {
        if let Some(known) = self.items[id as usize] {
            return known;
        }
        let mut all = 0u128;
        for (before, child) in &self.forest.items[id as usize].links {
            let last = match *child {
                Child::Edge { .. } => 1,
                Child::Node(node) => self.node(node),
            };
            all = all.wrapping_add(before.map_or(1, |before| self.item(before)).wrapping_mul(last));
        }
        self.items[id as usize] = Some(all);
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
