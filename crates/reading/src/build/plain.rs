//! Actions of rows of one operation: told by a verb, by turns, in stocking or garter stitch.

use super::*;

/// Nats against one row without shaping being as the ground is, where its verb may tell it.
const ONE_STRAIGHT: f64 = 1.2;

impl Builder<'_> {
    pub(super) fn plain_action(&self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| said(kind, span);
        let rows_at = |nth: usize| self.rows_nth(parts, nth);
        let rows = rows_of(self.side(parts));
        let loose = || told_loose(parts);
        match action {
            "back_and_forth" => {
                let n = self.numbers(&parts[0]).0[0]?;
                let counted = RowSet { span, ..RowSet::named(Which::Count(n)) };
                say(rows(counted, whole(Op::K, span), None))
            }
            "joined" => {
                let next = || RowSet { span, ..RowSet::named(Which::Next(1)) };
                let content = match self.numbers(&parts[0]).0[0] {
                    Some(2) => {
                        let pair =
                            Work { ops: Rc::from([Op::K2tog]), times: 1, span, number: None, sense: None };
                        let body = Seq::one(Item::Work(pair));
                        Content::Work(Rc::new(vec![(
                            0.0,
                            Seq::one(Item::Group { body, until: Until::End, span }),
                        )]))
                    }
                    _ => whole(Op::K, span),
                };
                let join = Statement { kind: rows(next(), content, None), span };
                if parts.len() == 1 {
                    return one(Value::Statement(Rc::new(join)));
                }
                let bind = Statement { kind: rows(next(), whole(Op::Bo, span), None), span };
                one(Value::Chain(Some(Rc::new(Value::Chain(None, Rc::new(join)))), Rc::new(bind)))
            }
            "part_rows" => {
                let on_part = parts
                    .iter()
                    .find(|part| self.leaf(part).is_some_and(|leaf| leaf.terminal == self.marks.on_part))?;
                let stitches =
                    self.numbers(on_part).0[0].filter(|count| (1..=TIMES_LIMIT).contains(count))?;
                let named = parts.iter().find_map(|part| self.rows(part))?;
                let (Which::Count(count) | Which::Next(count)) = named.which else { return None };
                let op = parts.iter().find_map(|part| self.row_op(part)).or(named.told).unwrap_or(Op::K);
                let slips = parts.iter().any(|part| {
                    self.leaf(part).is_some_and(|leaf| leaf.terminal == self.marks.slipping_first)
                });
                let part = StatementKind::Part { op, stitches, rows: count, slips };
                (count <= TIMES_LIMIT).then(|| say(part)).flatten()
            }
            "turns_till_row" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                let last = self.numbers(parts.last()?).0[0]?;
                let till = RowSet { which: Which::Till(last), ..rows_at(0)? };
                say(rows(till, Content::Turns(ops), None))
            }
            "turns_till" | "turns_till_edged" => {
                let op = |part| self.row_op(part).or_else(|| self.rows(part)?.told);
                let ops: Vec<Op> = parts.iter().filter_map(op).collect();
                let many = self.numbers(parts.last()?).0[0].filter(|many| *many <= TIMES_LIMIT)?;
                let counted = RowSet { which: Which::Count(many), ..rows_at(0)? };
                let turns = Statement { kind: rows(counted, Content::Turns(ops), None), span };
                if action == "turns_till" {
                    return one(Value::Statement(Rc::new(turns)));
                }
                let rule = EdgeRule { first: Some(Op::Slp), last: None, front: false, besides: false };
                let edge = Statement { kind: StatementKind::Edge(rule), span };
                let edge = Value::Chain(None, Rc::new(edge));
                one(Value::Chain(Some(Rc::new(edge)), Rc::new(turns)))
            }
            "row_named_after" | "row_named_modified" => {
                let op = parts
                    .iter()
                    .rev()
                    .find_map(|part| self.row_op(part))
                    .or_else(|| self.row_op(&parts[0]))?;
                // "Purl one row, and cast off" is two.
                if op == Op::Bo && self.row_op(&parts[0]).is_some_and(|first| first != Op::Bo) {
                    return None;
                }
                let ends = parts.get(2).filter(|_| action == "row_named_modified");
                let content = match ends {
                    Some(ends) => match self.modified(&parts[0], ends)?.pop()?.1 {
                        Value::Seq(seq) => Content::Work(Rc::new(vec![(0.0, seq)])),
                        _ => return None,
                    },
                    None => whole(op, span),
                };
                say(rows(rows_at(0)?, content, None))
            }
            // "The rows that come between are plain."
            "between_plain" => {
                let after = RowSet { span, ..RowSet::named(Which::Alternate) };
                say(StatementKind::Returns { after, content: whole(Op::K, span) })
            }
            // "Each of the open rounds must have a plain round knitted after it."
            "plain_after" | "each_plain" => {
                let many = |rows: &RowSet| matches!(rows.which, Which::Every | Which::Pattern | Which::Odd);
                if action == "plain_after" && !rows_at(0).is_some_and(|rows| many(&rows)) {
                    return None;
                }
                let after = RowSet { span, ..RowSet::named(Which::Pattern) };
                say(StatementKind::Returns { after, content: whole(Op::K, self.span(parts.last()?)) })
            }
            // "Purl two rounds, and knit one": of what the first rows are so many, and of the next.
            "rows_and_so_many" => {
                let number =
                    |part: &&Value| self.leaf(part).is_some_and(|leaf| leaf.terminal == self.marks.number);
                let many = self.held(parts.iter().rfind(number)?).filter(|many| *many <= TIMES_LIMIT)?;
                // "Knit two rows. Knit one, purl one": a sentence of stitches.
                if parts[1..].iter().any(|part| self.gap_before(self.span(part)) >= Gap::Period) {
                    return None;
                }
                // "Knit two rows, and knit one, purl one" goes on with stitches.
                let ends = self.leaf(parts.last()?).is_some_and(|leaf| leaf.after >= Gap::Comma);
                if !ends && number(&parts.last()?) {
                    return None;
                }
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                let row = |named: RowSet, op: Op| {
                    Rc::new(Statement { kind: rows(named, whole(op, span), None), span })
                };
                let before = match &parts[0] {
                    before @ Value::Chain(..) => before.clone(),
                    _ => {
                        let counted = rows_at(0).filter(|rows| matches!(rows.which, Which::Count(_)))?;
                        let op = counted.told.or(ops.first().filter(|_| ops.len() > 1).copied())?;
                        Value::Chain(None, row(RowSet { told: None, ..counted }, op))
                    }
                };
                let further = RowSet { span, ..RowSet::named(Which::Count(many)) };
                one(Value::Chain(Some(Rc::new(before)), row(further, *ops.last()?)))
            }
            // "Knit four rows plain, slipping the first stitch of each."
            "rows_slipped" => {
                let named = rows_at(0)?;
                let op = named.told.or_else(|| parts.iter().rev().find_map(|part| self.row_op(part)));
                let rest = Item::Rest { op: op?, until: Until::End, span };
                let slipped = self.single(Op::Slp, 1, self.span(parts.last()?));
                let row = Content::Work(Rc::new(vec![(0.0, Seq::of([slipped, rest])?)]));
                say(rows(RowSet { told: None, ..named }, row, None))
            }
            "row_told" => {
                let told = parts.iter().rev().find(|part| self.row_op(part).is_some())?;
                let named = rows_at(0)?;
                // "Widen at each end; the rows between are plain" is no such row.
                let words = Span { start: named.span.end, end: self.span(told).start };
                let mut passed = self.tokens.iter().filter(|token| words.covers(token.span));
                let parted =
                    passed.any(|token| token.gap >= Gap::Semicolon || WORDS.verbs.contains(&token.text));
                (!parted).then(|| say(rows(named, whole(self.row_op(told)?, self.span(told)), None)))?
            }
            "another_row" | "once_over" | "once_plain" | "many_plain" => {
                let (which, content) = match action {
                    "another_row" => (Which::Next(1), whole(self.row_op(&parts[0])?, span)),
                    "once_over" => (Which::Count(1), loose()?),
                    "once_plain" => (Which::Count(1), whole(Op::K, span)),
                    _ => (Which::Count(self.held(parts.last()?)?), whole(Op::K, span)),
                };
                say(rows(RowSet::named(which), content, None))
            }
            "midst_told" => {
                let numbers = parts.iter().find_map(|part| self.numbers(part).0[0]);
                let count = numbers.filter(|number| *number <= TIMES_LIMIT)?;
                let named = rows_at(0)?;
                let op = named.told.or_else(|| parts.iter().find_map(|part| self.row_op(part)))?;
                let midst = self.single(op, count, named.span);
                say(rows(
                    RowSet { told: None, ..named },
                    Content::Work(Rc::new(vec![(0.0, Seq::one(midst))])),
                    None,
                ))
            }
            // "First to third row: knit, purl, knit."
            "one_each" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                let named = rows_at(0).filter(|_| !ops.contains(&Op::Bo))?;
                let each = matches!(&named.which, Which::Numbers(numbers) if numbers.len() == ops.len());
                each.then(|| say(rows(named, Content::Turns(ops), None))).flatten()
            }
            "turns" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                say(StatementKind::Line(Content::Turns(ops), 2))
            }
            "by_turns" => {
                let turns = |part: &Value| match part {
                    Value::Statement(turns) => match &turns.kind {
                        StatementKind::Line(Content::Turns(ops), _) => Some(ops.clone()),
                        _ => None,
                    },
                    _ => None,
                };
                let told = || parts.iter().filter_map(|part| self.row_op(part)).collect();
                let ops: Vec<Op> = parts.iter().find_map(turns).unwrap_or_else(told);
                let last = parts.iter().rev().find_map(|part| self.rows(part))?;
                say(rows(last, Content::Turns(ops), None))
            }
            "so_many_by_turns" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
                say(rows(rows_at(0)?, Content::Turns(ops), None))
            }
            "told_rows" => {
                let named = parts.iter().find_map(|part| self.rows(part))?;
                let op = named.told?;
                let content = whole(op, named.span);
                say(rows(RowSet { told: None, ..named }, content, None))
            }
            // "After the eighth row knit two plain rows."
            "told_rows_after" => {
                let one = matches!(rows_at(0)?.which, Which::Numbers(numbers) if numbers.len() == 1);
                let named = self.rows(parts.last()?).filter(|_| one)?;
                let content = whole(named.told?, named.span);
                say(rows(RowSet { told: None, ..named }, content, None))
            }
            // "3rd to 8th row: six plain rows."
            "told_rows_named" => {
                let (named, told) = (rows_at(0)?, parts.iter().rev().find_map(|part| self.rows(part))?);
                let op = told.told.or_else(|| self.row_op(parts.last()?))?;
                let so_many = match (&named.which, &told.which) {
                    (Which::Numbers(numbers), Which::Count(rows)) => numbers.len() == *rows as usize,
                    _ => false,
                };
                so_many.then(|| say(rows(named, whole(op, span), None)))?
            }
            "loose_line" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 1)),
            "loose_line_twice" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 2)),
            // "Knit three times around": so many rounds, plain if nothing else is said.
            "rounds_of" => {
                let idiom = |part: &Value| match self.leaf(part)?.payload {
                    Payload::Idiom { numbers, .. } => numbers[0],
                    _ => None,
                };
                let count = parts.iter().rev().find_map(idiom).filter(|count| *count <= TIMES_LIMIT)?;
                let op = parts.iter().rev().find_map(|part| self.row_op(part)).unwrap_or(Op::K);
                let rounds = RowSet { span, round: true, ..RowSet::named(Which::Count(count)) };
                say(rows(rounds, whole(op, span), None))
            }
            // "The third round, like every round with an uneven number, is plain."
            "row_and_all" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                // "Plain, as are the fourth, sixth, and every alternate row."
                let all = rows_at(2).filter(|rows| !matches!(rows.which, Which::Numbers(_)));
                let mut named = all.or(rows_at(1))?;
                // "Second row, plain; also the fourth and sixth."
                if let Which::Numbers(others) = &named.which {
                    let Which::Numbers(first) = rows_at(0)?.which else { return None };
                    if others.iter().min() <= first.iter().max() {
                        return None;
                    }
                    named.which = Which::Numbers(first.iter().chain(others).copied().collect());
                }
                say(rows(named, whole(op, span), None))
            }
            // "Third round: plain, as also after every open round."
            "label_and_returns" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                let after = rows_at(1).filter(|rows| !matches!(rows.which, Which::Numbers(_)))?;
                // Told of a row with a number, it holds for those without one.
                let numbered = rows_at(0).is_some_and(|rows| matches!(rows.which, Which::Numbers(_)));
                let after = if numbered { RowSet { which: Which::Alternate, ..after } } else { after };
                say(StatementKind::Returns { after, content: whole(op, span) })
            }
            // One row that is knitted without decreasing is a plain row.
            "straight" if matches!(rows_at(0)?.which, Which::Count(1)) => {
                let kind = rows(rows_at(0)?, Content::Straight, None);
                Some(vec![(ONE_STRAIGHT, Value::Statement(Rc::new(Statement { kind, span })))])
            }
            "straight" => say(rows(rows_at(0)?, Content::Straight, None)),
            "stocking" => {
                let begun =
                    self.leaf(parts.last()?).is_some_and(|leaf| leaf.terminal == self.marks.begin_purl);
                let ops = if begun { vec![Op::P, Op::K] } else { vec![Op::K, Op::P] };
                say(rows(rows_at(0)?, Content::Turns(ops), None))
            }
            "garter" => say(rows(rows_at(0)?, whole(Op::K, span), None)),
            "return_rows_of" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                let after = parts
                    .iter()
                    .filter_map(|part| self.rows(part))
                    .find(|rows| !matches!(rows.which, Which::Count(_)))?;
                say(StatementKind::Returns { after, content: whole(op, span) })
            }
            _ => None,
        }
    }
}
