//! Actions whose value is a statement of rows, of sections, or of the whole work.

use super::sequence::told_onward;
use super::*;

/// Nats against a row without a name that goes on in another sentence: more than a row of its own costs. A guess.
const SENTENCE: f64 = 3.5;

impl Builder<'_> {
    /// Where the token is with which some words begin.
    pub(super) fn token_at(&self, span: Span) -> usize {
        self.tokens.partition_point(|token| token.span.start < span.start)
    }

    /// Whether a word for knitting or purling stands right before the name of some rows. The point of "K. 2 rows" may be that
    /// of an abbreviation; in "K. 2nd row" it ends the row before.
    fn follows_verb(&self, span: Span, counted: bool) -> bool {
        let at = self.token_at(span);
        let the = at > 0 && self.tokens[at].gap == Gap::None && self.tokens[at - 1].text == "the";
        let at = at - usize::from(the);
        let verb = |before: usize| WORDS.ground.contains(&self.tokens[before].text);
        let parted = if counted { Gap::Point } else { Gap::None };
        at.checked_sub(1).is_some_and(verb) && self.tokens[at].gap <= parted
    }

    /// Whether it is so many rows, told right behind the word for knitting or purling them.
    pub(super) fn is_counted_by_verb(&self, label: &Value) -> bool {
        let counted = self.rows(label).is_some_and(|rows| matches!(rows.which, Which::Count(_)));
        counted && self.follows_verb(self.spans(std::slice::from_ref(label)), true)
    }

    pub(super) fn statement_action(&self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| said(kind, span);
        let rows_at = |nth: usize| self.rows_nth(parts, nth);
        let rows = rows_of(self.side(parts));
        let loose = || told_loose(parts);
        let choices = || told_last(parts).map(Content::Work);
        let stated = || self.stated_last(parts);
        match action {
            "junk" => say(StatementKind::Unread),
            "both" => one(Value::Junk(span)),
            "count" => say(StatementKind::Count(self.numbers(&parts[0]).0[0]?)),
            "count_sides" => {
                let [each, middle] = self.numbers(&parts[0]).0;
                say(StatementKind::Count(each?.checked_mul(2)?.checked_add(middle?)?))
            }
            "count_each" => say(StatementKind::CountEach(self.numbers(&parts[0]).0[0]?)),
            "count_beside" => say(StatementKind::Count(self.numbers(&parts[1]).0[0]?)),
            "go_on" => say(StatementKind::GoOn(told_onward(&parts[0]))),
            "edges" | "edges_as_first" | "edges_besides" => {
                let stitches = self.numbers(&parts[0]).0[0].filter(|n| (1..=12).contains(n))?;
                let told = EdgesTold {
                    stitches,
                    as_first: action == "edges_as_first",
                    besides: action == "edges_besides",
                };
                say(StatementKind::Edges(told))
            }
            "edges_all_plain" => {
                let stitches = self.numbers(&parts[0]).0[0].filter(|n| (1..=12).contains(n))?;
                let plain = self.row_op(&parts[1]) == Some(Op::K);
                let told = EdgesTold { stitches, as_first: false, besides: false };
                plain.then(|| say(StatementKind::Edges(told))).flatten()
            }
            "edge" => {
                let (first, last) = match self.numbers(&parts[0]).0[0] {
                    Some(1 | 4) => (Some(Op::Slp), None),
                    Some(2) => (Some(Op::Slp), Some(Op::K)),
                    Some(5) => (Some(Op::P), None),
                    _ => (Some(Op::K), Some(Op::K)),
                };
                let front = self.numbers(&parts[0]).0[0] == Some(4);
                say(StatementKind::Edge(EdgeRule { first, last, front, besides: false }))
            }
            "seam_rule" => {
                let rule = EdgeRule { first: None, last: Some(Op::P), front: false, besides: false };
                say(StatementKind::Edge(rule))
            }
            "stepped_up" | "stepped_down" => {
                let by =
                    i32::try_from(self.numbers(&parts[1]).0[0]?).ok().filter(|by| (1..100).contains(by))?;
                let by = if action == "stepped_up" { by } else { -by };
                say(rows(self.rows(&parts[0])?, Content::Stepped(by), None))
            }
            "besides" => parts.iter().find_map(|part| match part {
                Value::Statement(statement) => match statement.kind {
                    StatementKind::Edge(rule) => say(StatementKind::Edge(EdgeRule { besides: true, ..rule })),
                    _ => None,
                },
                _ => None,
            }),
            "spread" | "spread_rows" => {
                let told = parts.iter().find_map(|part| match part {
                    Value::Spread(told, _) => Some(Rc::clone(told)),
                    _ => None,
                })?;
                let rows = rows_at(0);
                let at_ends = told.iter().all(SpreadTold::is_at_an_end);
                (rows.is_some() && !at_ends || told.iter().all(|told| told.at == At::Stacked))
                    .then(|| say(StatementKind::Spread(rows, told)))
                    .flatten()
            }
            "as_seen" => say(StatementKind::AsSeen),
            "ends_as_before" => {
                let end = parts.iter().find_map(|part| match part {
                    Value::Seq(seq) => Some(seq.clone()),
                    _ => None,
                });
                say(StatementKind::EndsAsBefore { row: self.held(&parts[0]), end })
            }
            "at_the_end" => {
                let seq = |part: &Value| if let Value::Seq(seq) = part { Some(seq.clone()) } else { None };
                say(StatementKind::AtTheEnd(parts.iter().find_map(seq)?))
            }
            "closes" => say(StatementKind::Closes),
            "turns_at" => {
                let told = parts.iter().find_map(|part| match part {
                    Value::Statement(told) => Some(&told.kind),
                    _ => None,
                });
                let mut numbers = match told {
                    Some(StatementKind::TurnsAt(numbers)) => numbers.clone(),
                    _ => Vec::new(),
                };
                numbers.push(self.held(parts.last()?)?);
                say(StatementKind::TurnsAt(numbers))
            }
            "on_hand" => say(StatementKind::OnHand(self.numbers(&parts[0]).0[0]?)),
            "in_the_round" => say(StatementKind::Round(self.numbers(&parts[0]).0[0])),
            "put_in_the_round" => {
                let [first, second] = self.numbers(&parts[0]).0;
                say(StatementKind::Round(second.or(first)))
            }
            "note" => say(StatementKind::Note),
            "smooth" => say(StatementKind::Smooth),
            "one_needle" => say(StatementKind::OneNeedle),
            // "The edge consists at the beginning of: slip one, knit one; at the end of: knit two."
            "edges_told" => {
                let mut told = all_told(parts);
                say(StatementKind::EdgesAre(told.next()?, told.next()?))
            }
            "ends_are" | "begin_so" | "ends_of_all" => {
                let mut told = all_told(parts);
                let fixed = |told: &Rc<Vec<(f64, Seq)>>| {
                    told.first().is_some_and(|(_, seq)| seq.shape().open.is_empty())
                };
                let all = || (action == "ends_of_all").then(|| RowSet::named(Which::Every));
                let rows = rows_at(0).or_else(all).filter(|rows| rows.names_many())?;
                let first = told.next().filter(fixed)?;
                let last = told.next();
                let whole = last.as_ref().is_none_or(fixed);
                whole.then(|| say(StatementKind::EndsAre(rows, first, last)))?
            }
            // "As far as the 18th row every row begins with a made stitch."
            "begin_over" => {
                let last = (parts.len() > 1).then(|| self.numbers(&parts[0]).0[0]);
                let which = last.map_or(Some(Which::Every), |last| last.map(Which::First))?;
                let over = Seq::one(self.single(Op::Yo, 1, self.span(parts.last()?)));
                say(StatementKind::EndsAre(RowSet::named(which), Rc::new(vec![(0.0, over)]), None))
            }
            "ends_both" => {
                let ends = told_last(parts)
                    .filter(|ends| ends.iter().all(|(_, seq)| seq.shape().open.is_empty()))?;
                let rows = self.rows(parts.last()?).filter(|rows| rows.names_many())?;
                say(StatementKind::EndsAre(rows, Rc::clone(&ends), Some(ends)))
            }
            "edge_width" => say(StatementKind::EdgeWidth(self.held(&parts[0])?)),
            "finished" => say(StatementKind::Finished),
            // "On to two needles. Knit these ten" names no rows.
            "row" => {
                let named =
                    rows_at(0).filter(|rows| !(rows.needle && matches!(rows.which, Which::Count(_))))?;
                let content = choices().filter(|content| !casts_off_often(&named, content))?;
                // "Knit two rows. Purl one, …", "knit the first row, purl the second": what ends with a row tells of it.
                let counted = matches!(named.which, Which::Count(_));
                let behind = Span { start: named.span.end, end: span.end };
                let mut words = self.tokens.iter().filter(|token| behind.covers(token.span));
                // "Two rounds without narrowing. Knit 3, narrow, all around": the sentence after is of other rows.
                let sentence = counted && words.any(|token| token.gap >= Gap::Period);
                let ended = self.leaf(&parts[0]).is_some_and(|leaf| {
                    sentence || leaf.after != Gap::Colon && self.follows_verb(leaf.span, counted)
                });
                let told = Statement { kind: rows(named, content, None), span };
                Some(vec![(if ended { COUNT_ENDED } else { 0.0 }, Value::Statement(Rc::new(told)))])
            }
            "row_count" => say(rows(rows_at(0)?, choices()?, stated())),
            // "Knit four rows, and cast off" is not four rows of casting off.
            "rows_by_verb" | "rows_after" => match (rows_at(0)?, loose()?) {
                (named, content) if casts_off_often(&named, &content) => None,
                _ if self.told_before(parts) => None,
                (named, content) => say(rows(named, content, None)),
            },
            "rows_told_by" => {
                let (named, content) = (rows_at(0)?, loose()?);
                let off =
                    matches!(&content, Content::Work(seqs) if seqs.iter().any(|(_, seq)| binds_off(seq)));
                (!off).then(|| say(rows(named, content, None))).flatten()
            }
            "rows_rib_clause" => say(rows(rows_at(0)?, told_rib(parts)?, None)),
            "rib_to_measure" => {
                let measured = RowSet { span: self.span(parts.last()?), ..RowSet::named(Which::Measure) };
                say(rows(measured, told_rib(parts)?, None))
            }
            "rows_ribbed" => match loose()? {
                Content::Work(seqs) if seqs.iter().all(|(_, seq)| is_of_ribs(seq)) => {
                    say(rows(rows_at(0)?, Content::Rib(seqs), None))
                }
                _ => None,
            },
            "rows_like_last" | "between_like_last" => {
                let named =
                    rows_at(0).filter(|rows| rows.explicit || !matches!(rows.which, Which::Numbers(_)))?;
                let between =
                    matches!(named.which, Which::Even | Which::Odd | Which::Alternate | Which::Back);
                if action == "between_like_last" && !between {
                    return None;
                }
                say(StatementKind::Rows {
                    rows: named,
                    content: Content::Like(None),
                    side: None,
                    count: None,
                })
            }
            "next_row" => {
                let next = RowSet { span: self.span(&parts[0]), ..RowSet::named(Which::Next(1)) };
                let count = if parts.len() > 2 { stated() } else { None };
                say(rows(next, loose()?, count))
            }
            "back_plain" => {
                let span = self.span(&parts[0]);
                let next = RowSet { span, ..RowSet::named(Which::Next(1)) };
                say(rows(next, whole(Op::K, span), None))
            }
            // "… and lastly by knitting two together all round."
            "and_then_so" => {
                let next = RowSet { span: self.span(parts.last()?), ..RowSet::named(Which::Next(1)) };
                let row = Statement { kind: rows(next, loose()?, None), span: self.span(parts.last()?) };
                one(Value::Chain(Some(Rc::new(parts[0].clone())), Rc::new(row)))
            }
            "row_to_measure" | "rows_to_measure" => {
                let which = Which::Measure;
                let measured = RowSet { span: self.span(parts.last()?), ..RowSet::named(which) };
                let content = match action {
                    "row_to_measure" => {
                        let (op, told) = parts.iter().find_map(|part| Some((self.row_op(part)?, part)))?;
                        whole(op, self.span(told))
                    }
                    _ => loose()?,
                };
                say(rows(measured, content, None))
            }
            "rows_till" => {
                let which = Which::Count(self.numbers(parts.last()?).0[0]?);
                let till = RowSet { span: self.span(parts.last()?), ..RowSet::named(which) };
                say(rows(till, loose()?, None))
            }
            "rows_as_counted" => {
                let named =
                    rows_at(0).filter(|rows| matches!(rows.which, Which::Count(_) | Which::Next(_)))?;
                say(rows(named, Content::LikeCounted, None))
            }
            "section" => say(StatementKind::Section(vec![self.numbers(&parts[0]).0[0]?])),
            "section_by_number" => match (rows_at(0)?.which, rows_at(0)?.explicit) {
                (Which::Numbers(numbers), false) => say(StatementKind::Heading(numbers)),
                _ => None,
            },
            "like_section" => {
                let named = parts.iter().find_map(|part| self.rows(part));
                let number = match named.map(|rows| (rows.which, rows.explicit)) {
                    Some((Which::Numbers(numbers), false)) if numbers.len() == 1 => numbers[0],
                    Some(_) => return None,
                    None => parts.iter().find_map(|part| self.numbers(part).0[0])?,
                };
                say(StatementKind::LikeSection(number))
            }
            "other_part" => say(StatementKind::OtherPart),
            "needle_told" | "needle_plain" => {
                let next = RowSet { needle: true, span, ..RowSet::named(Which::NextNeedle) };
                let content = match action {
                    "needle_plain" => whole(self.row_op(&parts[0])?, span),
                    _ => choices()?,
                };
                say(rows(next, content, None))
            }
            "like_named" => {
                let deed = match self.numbers(&parts[0]).0[0] {
                    Some(1) => Deed::Opens,
                    Some(2) => Deed::Narrows,
                    _ => Deed::Widens,
                };
                say(rows(RowSet { span, ..RowSet::named(Which::Next(1)) }, Content::LikeNamed(deed), None))
            }
            "named_by" => say(rows(RowSet { span, ..RowSet::named(Which::Next(1)) }, loose()?, None)),
            "as_many" => {
                say(rows(RowSet { span, ..RowSet::named(Which::AsMany) }, Content::LikeCounted, None))
            }
            "label_aside" => match (rows_at(0)?.which, rows_at(0)?.explicit) {
                (Which::Numbers(numbers), false) => say(StatementKind::Heading(numbers)),
                _ => say(StatementKind::Note),
            },
            // "Knit 1, make 1, knit 9. Knit 2, make 1, knit 9": rather a row in every sentence.
            "loose_row" => {
                let told = self.tokens.iter().filter(|token| span.covers(token.span)).skip(1);
                let ended = told.filter(|token| token.gap >= Gap::Period).count();
                let content = loose()?;
                let once =
                    matches!(&content, Content::Work(told) if told.iter().any(|(_, seq)| seq.once_only()));
                let kind = StatementKind::Loose(content);
                let cost = if once { 0.0 } else { SENTENCE * ended as f64 };
                Some(vec![(cost, Value::Statement(Rc::new(Statement { kind, span })))])
            }
            // "…; knit eight, turn; purl nine": a short row, or what follows one, needs no sentence of its own.
            "short_row" => match loose()? {
                Content::Work(told)
                    if self.turned_before(span) || told.iter().all(|(_, seq)| seq.turns()) =>
                {
                    say(StatementKind::Loose(Content::Work(told)))
                }
                _ => None,
            },
            "row_that_is" => say(StatementKind::ThatIs(loose()?)),
            "last_is" => say(StatementKind::LastIs(loose()?)),
            "return_rows" => say(StatementKind::Returns { after: rows_at(0)?, content: choices()? }),
            // "A row of purl is to be worked after every open row."
            "returns_told" | "returns_told_last" => {
                let (one, after) = if action == "returns_told" { (0, 1) } else { (1, 0) };
                let (row, after) = (rows_at(one)?, rows_at(after)?);
                let many = matches!(after.which, Which::Pattern | Which::Every | Which::Odd);
                let told = many && row.which == Which::Count(1);
                told.then(|| say(StatementKind::Returns { after, content: loose()? })).flatten()
            }
            "return_like_last" => {
                say(StatementKind::Returns { after: rows_at(0)?, content: Content::Like(None) })
            }
            "return_like" => {
                say(StatementKind::Returns { after: rows_at(1)?, content: Content::Like(rows_at(0)) })
            }
            "and_then" => {
                let last = match parts.last()? {
                    chain @ Value::Chain(..) => chain.clone(),
                    other => self.as_statement(other)?,
                };
                let head = match &parts[0] {
                    Value::Chain(..) => parts[0].clone(),
                    other => match self.as_statement(other)? {
                        Value::Statement(first) => Value::Chain(None, first),
                        _ => return None,
                    },
                };
                one(followed(head, &last)?)
            }
            _ => None,
        }
    }

    fn as_statement(&self, value: &Value) -> Option<Value> {
        match value {
            Value::Statement(_) => Some(value.clone()),
            Value::Junk(_) | Value::Leaf(_) => {
                let statement = Statement { kind: StatementKind::Unread, span: self.span(value) };
                Some(Value::Statement(Rc::new(statement)))
            }
            _ => None,
        }
    }
}

/// Statements one after the other: those of the first value, and those of the second.
fn followed(head: Value, last: &Value) -> Option<Value> {
    match last {
        Value::Statement(last) | Value::Chain(None, last) => {
            Some(Value::Chain(Some(Rc::new(head)), Rc::clone(last)))
        }
        Value::Chain(Some(between), last) => {
            Some(Value::Chain(Some(Rc::new(followed(head, between)?)), Rc::clone(last)))
        }
        _ => None,
    }
}

/// Whether all that is left of a row is bound off.
fn binds_off(seq: &Seq) -> bool {
    seq.items().iter().any(|item| matches!(item, Item::Rest { op: Op::Bo, .. }))
}

/// Whether a row is bound off whole.
fn is_bind_off(seq: &Seq) -> bool {
    matches!(seq.first(), Some(Item::Rest { op: Op::Bo, .. }))
}

/// The rib that is among some words.
fn told_rib(parts: &[Value]) -> Option<Content> {
    let seq = parts.iter().find_map(|part| match part {
        Value::Seq(seq) => Some(seq.clone()),
        _ => None,
    })?;
    Some(Content::Rib(Rc::new(vec![(0.0, seq)])))
}

/// Whether ribs may be told so: stitches that leave as many as they take, none told by how they look.
fn is_of_ribs(seq: &Seq) -> bool {
    seq.items().iter().all(|item| match item {
        Item::Work(work) => work.ops.iter().all(|op| op.takes() == op.makes() && *op != Op::Bo),
        Item::Rest { op, .. } => matches!(op, Op::K | Op::P),
        Item::Group { body, .. } => is_of_ribs(body),
        _ => false,
    })
}

/// Whether all stitches would be cast off in several rows.
fn casts_off_often(named: &RowSet, content: &Content) -> bool {
    let often = matches!(named.which, Which::Count(n) | Which::Next(n) if n > 1);
    matches!(content, Content::Work(seqs) if often && seqs.iter().any(|(_, seq)| is_bind_off(seq)))
}
