//! A grammar as data: rules with costs and actions, read from text.
//!
//! ```text
//! grammar = { rule }
//! rule    = name "=" right { "|" right }          "#" starts a comment
//! right   = symbol { symbol } [ "~" cost ] [ "->" action ]
//! symbol  = NAME (a terminal) | name (a rule) | symbol "?" (may be absent)
//! ```
//!
//! A rule whose name ends in `!` may only begin where a statement may begin, one in `!!` only where a clause may that a
//! semicolon parts, one in `!!!` only where a sentence may. Without an action a right side of one symbol passes its
//! value on; an action that ends in `*` is given all values of its one symbol at once. There are no empty right sides. Cost
//! is in nats.

use std::collections::HashMap;

/// A terminal, by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Terminal(pub u16);

/// A set of the terminals that stand in a grammar, as bits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TerminalSet([u64; TerminalSet::WORDS]);

impl TerminalSet {
    const WORDS: usize = 6;
    /// How many terminals a grammar may have.
    const MOST: usize = TerminalSet::WORDS * u64::BITS as usize;
    /// Every terminal.
    const ALL: TerminalSet = TerminalSet([u64::MAX; TerminalSet::WORDS]);

    /// A terminal alone; nothing for one that was only added to a grammar already read, and so stands in no rule.
    pub fn of(terminal: Terminal) -> TerminalSet {
        let mut words = [0; TerminalSet::WORDS];
        if let Some(word) = words.get_mut(usize::from(terminal.0) / u64::BITS as usize) {
            *word = 1 << (u32::from(terminal.0) % u64::BITS);
        }
        TerminalSet(words)
    }

    /// Whether a terminal is in it.
    pub fn has(&self, terminal: Terminal) -> bool {
        let word = self.0.get(usize::from(terminal.0) / u64::BITS as usize);
        word.is_some_and(|word| word >> (u32::from(terminal.0) % u64::BITS) & 1 == 1)
    }

    /// What is in either.
    pub fn or(self, other: TerminalSet) -> TerminalSet {
        TerminalSet(std::array::from_fn(|at| self.0[at] | other.0[at]))
    }

    /// What is in both.
    fn and(self, other: TerminalSet) -> TerminalSet {
        TerminalSet(std::array::from_fn(|at| self.0[at] & other.0[at]))
    }

    /// Whether there is a terminal in both.
    pub fn meets(&self, other: &TerminalSet) -> bool {
        self.0.iter().zip(&other.0).any(|(one, other)| one & other != 0)
    }

    /// Whether all its terminals are in another.
    pub fn is_within(&self, other: &TerminalSet) -> bool {
        self.0.iter().zip(&other.0).all(|(one, other)| one & !other == 0)
    }
}

/// A rule name, by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Name(pub u16);

/// A symbol of a right side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Symbol {
    /// A terminal.
    Terminal(Terminal),
    /// A rule name.
    Name(Name),
}

/// One right side of a rule.
#[derive(Clone, Debug)]
pub struct Rule {
    /// The rule's name.
    pub name: Name,
    /// Its right side.
    pub right: Vec<Symbol>,
    /// Nats against it.
    pub cost: f64,
    /// What its value is built by; `None` passes the only value on.
    pub action: Option<String>,
}

/// All rules, by name.
#[derive(Clone, Debug, Default)]
pub struct Grammar {
    rules: Vec<Rule>,
    by_name: Vec<Vec<usize>>,
    /// The rules of each name by the symbol that they begin with.
    by_first: Vec<Vec<(Symbol, Vec<usize>)>>,
    at_breaks: Vec<u8>,
    terminals: HashMap<String, Terminal>,
    names: HashMap<String, Name>,
    /// For each rule the terminals that every use of it holds.
    needs: Vec<TerminalSet>,
    /// For each name the terminals that a use of it may begin with.
    begins: Vec<TerminalSet>,
}

/// A grammar text that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("grammar, line {line}: {what}")]
pub struct BadGrammar {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub what: String,
}

impl Grammar {
    /// Reads a grammar.
    ///
    /// # Errors
    /// [`BadGrammar`] that names the line.
    pub fn parse(text: &str) -> Result<Grammar, BadGrammar> {
        let mut grammar = Grammar::default();
        let mut current = None;
        for (index, line) in text.lines().enumerate() {
            let bad = |what: &str| BadGrammar { line: index + 1, what: what.to_owned() };
            let line = line.split('#').next().unwrap_or("").trim();
            if line.is_empty() {
                continue;
            }
            let right = if let Some(right) = line.strip_prefix('|') {
                right
            } else {
                let (name, right) = line.split_once('=').ok_or_else(|| bad("no \"=\""))?;
                let bare = name.trim().trim_end_matches('!');
                let marks = name.trim().len() - bare.len();
                let name = grammar.name(bare);
                grammar.at_breaks[name.0 as usize] = u8::try_from(marks).unwrap_or(u8::MAX);
                current = Some(name);
                right
            };
            let name = current.ok_or_else(|| bad("a right side without a rule"))?;
            grammar.add_right(name, right).map_err(|what| bad(&what))?;
        }
        if grammar.terminals.len() > TerminalSet::MOST {
            return Err(BadGrammar { line: 0, what: format!("more than {} terminals", TerminalSet::MOST) });
        }
        let empty = grammar.names.iter().find(|(_, name)| grammar.by_name[name.0 as usize].is_empty());
        match empty {
            Some((name, _)) => Err(BadGrammar { line: 0, what: format!("\"{name}\" has no right side") }),
            None => {
                grammar.find_needs();
                grammar.find_beginnings();
                Ok(grammar)
            }
        }
    }

    /// Finds what every use of a rule must hold, by narrowing from "everything" until nothing changes.
    fn find_needs(&mut self) {
        let mut of_names = vec![TerminalSet::ALL; self.by_name.len()];
        loop {
            let of_symbol = |symbol: &Symbol| match symbol {
                Symbol::Terminal(terminal) => TerminalSet::of(*terminal),
                Symbol::Name(name) => of_names[name.0 as usize],
            };
            let of_rule =
                |rule: &Rule| rule.right.iter().map(of_symbol).fold(TerminalSet::default(), TerminalSet::or);
            self.needs = self.rules.iter().map(of_rule).collect();
            let narrowed = |rules: &Vec<usize>| {
                rules.iter().map(|rule| self.needs[*rule]).fold(TerminalSet::ALL, TerminalSet::and)
            };
            let next: Vec<TerminalSet> = self.by_name.iter().map(narrowed).collect();
            if next == of_names {
                return;
            }
            of_names = next;
        }
    }

    /// Finds what a use of a rule may begin with, by widening from nothing until nothing changes.
    fn find_beginnings(&mut self) {
        self.begins = vec![TerminalSet::default(); self.by_name.len()];
        loop {
            let of_symbol = |(first, _): &(Symbol, Vec<usize>)| match first {
                Symbol::Terminal(terminal) => TerminalSet::of(*terminal),
                Symbol::Name(name) => self.begins[name.0 as usize],
            };
            let widened = |rules: &Vec<(Symbol, Vec<usize>)>| {
                rules.iter().map(of_symbol).fold(TerminalSet::default(), TerminalSet::or)
            };
            let next: Vec<TerminalSet> = self.by_first.iter().map(widened).collect();
            if next == self.begins {
                return;
            }
            self.begins = next;
        }
    }

    fn add_right(&mut self, name: Name, right: &str) -> Result<(), String> {
        let (right, action) = match right.split_once("->") {
            Some((right, action)) => (right, Some(action.trim().to_owned())),
            None => (right, None),
        };
        let (right, cost) = match right.split_once('~') {
            Some((right, cost)) => (right, cost.trim().parse().map_err(|_| "the cost is no number")?),
            None => (right, 0.0),
        };
        let mut variants: Vec<Vec<Symbol>> = vec![Vec::new()];
        for word in right.split_whitespace() {
            let (word, optional) = word.strip_suffix('?').map_or((word, false), |word| (word, true));
            let symbol = self.symbol(word);
            let without = if optional { variants.clone() } else { Vec::new() };
            variants.iter_mut().for_each(|variant| variant.push(symbol));
            variants.extend(without);
        }
        for right in variants {
            if right.is_empty() {
                return Err("an empty right side".to_owned());
            }
            if right.len() > 1 && action.is_none() {
                return Err("no action for more than one symbol".to_owned());
            }
            self.by_name[name.0 as usize].push(self.rules.len());
            let by_first = &mut self.by_first[name.0 as usize];
            match by_first.iter_mut().find(|(first, _)| *first == right[0]) {
                Some((_, rules)) => rules.push(self.rules.len()),
                None => by_first.push((right[0], vec![self.rules.len()])),
            }
            self.rules.push(Rule { name, right, cost, action: action.clone() });
        }
        Ok(())
    }

    fn symbol(&mut self, word: &str) -> Symbol {
        if word.starts_with(|letter: char| letter.is_uppercase()) {
            Symbol::Terminal(self.terminal(word))
        } else {
            Symbol::Name(self.name(word))
        }
    }

    fn name(&mut self, word: &str) -> Name {
        let next = Name(u16::try_from(self.names.len()).unwrap_or(u16::MAX));
        let name = *self.names.entry(word.to_owned()).or_insert(next);
        if name == next {
            self.by_name.push(Vec::new());
            self.by_first.push(Vec::new());
            self.at_breaks.push(0);
        }
        name
    }

    /// The terminal of this name, new if need be.
    pub fn terminal(&mut self, word: &str) -> Terminal {
        let next = Terminal(u16::try_from(self.terminals.len()).unwrap_or(u16::MAX));
        *self.terminals.entry(word.to_owned()).or_insert(next)
    }

    /// The rule name, if there is such a rule.
    pub fn find_name(&self, word: &str) -> Option<Name> {
        self.names.get(word).copied()
    }

    /// The name of a terminal; empty if the grammar has no such terminal.
    pub fn terminal_name(&self, terminal: Terminal) -> &str {
        self.terminals.iter().find(|(_, known)| **known == terminal).map_or("", |(name, _)| name)
    }

    /// The rule with this index.
    pub fn rule(&self, index: usize) -> &Rule {
        &self.rules[index]
    }

    /// The terminals that every use of a rule holds.
    pub fn needs(&self, index: usize) -> &TerminalSet {
        &self.needs[index]
    }

    /// The terminals that a use of a name may begin with.
    pub fn begins(&self, name: Name) -> &TerminalSet {
        &self.begins[name.0 as usize]
    }

    /// The indices of a name's rules, by the symbol that they begin with.
    pub fn by_first(&self, name: Name) -> &[(Symbol, Vec<usize>)] {
        &self.by_first[name.0 as usize]
    }

    /// How strong a break must be where a rule begins: 0 none, 1 between statements, 2 at a semicolon,
    /// 3 between sentences.
    pub fn break_before(&self, name: Name) -> u8 {
        self.at_breaks[name.0 as usize]
    }

    /// How many rule names there are.
    pub fn name_count(&self) -> usize {
        self.by_name.len()
    }
}
