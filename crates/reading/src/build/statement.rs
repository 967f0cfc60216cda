//! Actions whose value is a statement: rows, repeats, rules.

use super::sequence::told_onward;
use super::spread::increase_told;
use super::*;

/// Nats against one row without shaping being as the ground is, where its verb may tell it.
const ONE_STRAIGHT: f64 = 1.2;

impl Builder<'_> {
    pub(super) fn statement_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| one(Value::Statement(Rc::new(Statement { kind, span })));
        let choices = || {
            parts.iter().rev().find_map(|part| match part {
                Value::Choices(choices) => Some(Content::Work(Rc::clone(choices))),
                _ => None,
            })
        };
        // Rows without a name do not begin with casting on: that begins the piece.
        let loose = || match choices()? {
            Content::Work(seqs) => {
                let begins =
                    |seq: &Seq| matches!(seq.first(), Some(Item::Work(work)) if *work.ops == [Op::Co]);
                let kept: Vec<_> = seqs.iter().filter(|(_, seq)| !begins(seq)).cloned().collect();
                (!kept.is_empty()).then(|| Content::Work(Rc::new(kept)))
            }
            other => Some(other),
        };
        let rows_at = |nth: usize| parts.iter().filter_map(|part| self.rows(part)).nth(nth);
        let whole = |op: Op, span: Span| {
            let rest = Seq::one(Item::Rest { op, until: Until::End, span });
            Content::Work(Rc::new(vec![(0.0, rest)]))
        };
        let side = self.side(parts);
        let stated = || self.stated_last(parts);
        let rows = |rows: RowSet, content: Content, count: Option<(u32, Span)>| StatementKind::Rows {
            rows,
            content,
            side,
            count,
        };
        match action {
            "junk" => say(StatementKind::Unread),
            "both" => one(Value::Junk(span)),
            "count" => say(StatementKind::Count(self.numbers(&parts[0]).0[0]?)),
            "count_each" => say(StatementKind::CountEach(self.numbers(&parts[0]).0[0]?)),
            "count_beside" => say(StatementKind::Count(self.numbers(&parts[1]).0[0]?)),
            "go_on" => say(StatementKind::GoOn(told_onward(&parts[0]))),
            "edges" | "edges_as_first" => {
                let stitches = self.numbers(&parts[0]).0[0].filter(|n| (1..=12).contains(n))?;
                say(StatementKind::Edges(EdgesTold { stitches, as_first: action == "edges_as_first" }))
            }
            "edge" => {
                let (first, last) = match self.numbers(&parts[0]).0[0] {
                    Some(1 | 4) => (Some(Op::Slp), None),
                    Some(2) => (Some(Op::Slp), Some(Op::K)),
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
            "shape" => {
                let (numbers, _) = self.numbers(&parts[0]);
                let leaf = self.leaf(&parts[0])?;
                let op = match leaf.terminal {
                    one if self.marks.shrink.contains(&one) || one == self.marks.shrink_knit => Op::K2tog,
                    one if one == self.marks.grow_over => Op::Yo,
                    one if one == self.marks.off_near => Op::Bo,
                    one if one == self.marks.on_near => Op::Co,
                    _ => Op::M1,
                };
                let many = numbers[0].unwrap_or(1);
                let ground = (leaf.terminal == self.marks.shrink_knit).then_some(Op::K);
                let many = if ground.is_some() { 1 } else { many };
                let bare = Shaping { ground, ..Shaping::of(op, many) };
                let most = if matches!(op, Op::Bo | Op::Co) { 100 } else { 9 };
                (1..=most).contains(&many).then(|| say(StatementKind::Shaping(bare))).flatten()
            }
            "shape_first" => {
                let bare = Shaping { place: Some(Place::Begin), ..Shaping::of(Op::K2tog, 1) };
                say(StatementKind::Shaping(bare))
            }
            "shape_how" | "shape_at" | "shape_every" | "shape_between" | "shape_next" | "shape_until"
            | "shape_within" | "shape_times" | "shape_smooth" | "shape_done" | "shape_on_face"
            | "shape_after_first" | "shape_inside_both" | "shape_at_once" => {
                let (told, bit) = match parts {
                    [one @ Value::Statement(_), _, bit] => (one, bit),
                    [one @ Value::Statement(_), bit] | [bit, one @ Value::Statement(_)] => (one, bit),
                    [_, bit, one @ Value::Statement(_)] => (one, bit),
                    _ => return None,
                };
                let Value::Statement(statement) = told else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                // "Knit four rows, making one at the beginning of each."
                let ground = self.row_op(&parts[0]).filter(|_| parts.len() > 2).or(shaping.ground);
                say(StatementKind::Shaping(self.shape_bit(action, Shaping { ground, ..shaping }, bit)?))
            }
            // "At the beginning of the next two rows cast off four."
            "shape_in_rows" => {
                let [place, rows, Value::Statement(statement)] = parts else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                let placed = self.shape_bit("shape_at", shaping, place)?;
                say(StatementKind::Shaping(self.shape_bit("shape_every", placed, rows)?))
            }
            // "At each end of the next row, and of every fourth row after that."
            "shape_then" => {
                let Value::Statement(statement) = &parts[0] else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                if !matches!(rows_at(0)?.which, Which::Next(1)) || shaping.every.is_some() {
                    return None;
                }
                say(StatementKind::Shaping(self.shape_bit(
                    "shape_every",
                    Shaping { at_once: true, ..shaping },
                    parts.last()?,
                )?))
            }
            "shaped" => match &parts[0] {
                Value::Statement(statement) => match statement.kind {
                    StatementKind::Shaping(told) if told.every.is_some() => {
                        let ends = told.until.is_some() || told.times.is_some();
                        ends.then(|| one(parts[0].clone())).flatten()
                    }
                    _ => None,
                },
                _ => None,
            },
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
            "ends_as_before" => say(StatementKind::EndsAsBefore),
            "at_the_end" => {
                let seq = |part: &Value| if let Value::Seq(seq) = part { Some(seq.clone()) } else { None };
                say(StatementKind::AtTheEnd(parts.iter().find_map(seq)?))
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
            "finished" => say(StatementKind::Finished),
            "back_and_forth" => {
                let n = self.numbers(&parts[0]).0[0]?;
                let counted = RowSet {
                    which: Which::Count(n),
                    round: false,
                    explicit: true,
                    needle: false,
                    told: None,
                    span,
                };
                say(rows(counted, whole(Op::K, span), None))
            }
            // "On to two needles. Knit these ten" names no rows.
            "row" => {
                let named =
                    rows_at(0).filter(|rows| !(rows.needle && matches!(rows.which, Which::Count(_))))?;
                let content = choices().filter(|content| !casts_off_often(&named, content))?;
                // "Knit two rows. Purl one, …": a sentence that ends with so many rows tells of these.
                let ended = matches!(named.which, Which::Count(_))
                    && self.leaf(&parts[0]).is_some_and(|leaf| leaf.after >= Gap::Period);
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
            "rows_rib_clause" => {
                let told = parts.iter().map(|part| self.numbers(part).0);
                let [knit, purl] = told.into_iter().find(|numbers| numbers[1].is_some())?;
                let work = |op: Op, times: Option<u32>| {
                    let times = times.filter(|times| (1..100).contains(times))?;
                    Some(Item::Work(Work { ops: Rc::from([op]), times, span, number: None, sense: None }))
                };
                let body = Seq::of([work(Op::K, knit)?, work(Op::P, purl)?])?;
                let group = Seq::one(Item::Group { body, until: Until::End, span });
                say(rows(rows_at(0)?, Content::Rib(Rc::new(vec![(0.0, group)])), None))
            }
            "rows_ribbed" => match loose()? {
                Content::Work(seqs) if !seqs.iter().any(|(_, seq)| is_bind_off(seq)) => {
                    say(rows(rows_at(0)?, Content::Rib(seqs), None))
                }
                _ => None,
            },
            "rows_like_last" => {
                let named =
                    rows_at(0).filter(|rows| rows.explicit || !matches!(rows.which, Which::Numbers(_)))?;
                say(StatementKind::Rows {
                    rows: named,
                    content: Content::Like(None),
                    side: None,
                    count: None,
                })
            }
            "next_row" => {
                let next = RowSet {
                    which: Which::Next(1),
                    round: false,
                    explicit: true,
                    needle: false,
                    told: None,
                    span: self.span(&parts[0]),
                };
                let count = if parts.len() > 2 { stated() } else { None };
                say(rows(next, loose()?, count))
            }
            "row_to_measure" | "rows_to_measure" => {
                let which = Which::Measure;
                let measured = RowSet {
                    which,
                    round: false,
                    explicit: true,
                    needle: false,
                    told: None,
                    span: self.span(parts.last()?),
                };
                let content = match action {
                    "row_to_measure" => whole(self.row_op(&parts[0])?, self.span(&parts[0])),
                    _ => loose()?,
                };
                say(rows(measured, content, None))
            }
            "rows_till" => {
                let which = Which::Count(self.numbers(parts.last()?).0[0]?);
                let till = RowSet {
                    which,
                    round: false,
                    explicit: true,
                    needle: false,
                    told: None,
                    span: self.span(parts.last()?),
                };
                say(rows(till, loose()?, None))
            }
            "rows_as_counted" => {
                let named =
                    rows_at(0).filter(|rows| matches!(rows.which, Which::Count(_) | Which::Next(_)))?;
                say(rows(named, Content::LikeCounted, None))
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
                (count <= TIMES_LIMIT).then(|| say(StatementKind::Part(op, stitches, count))).flatten()
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
            "turns_till" | "turns_till_edged" => {
                let ops: Vec<Op> = parts.iter().filter_map(|part| self.row_op(part)).collect();
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
            // "Every row is worked like the third, until there are twelve stitches."
            "every_like_until" => {
                let until = self.goal(parts.last()?);
                let every = matches!(rows_at(0)?.which, Which::Every);
                let again = Again { rows: rows_at(1), until, ..Again::default() };
                every.then(|| say(StatementKind::Again(again))).flatten()
            }
            "every_row_until" => {
                let last = RowSet::named(Which::Last(1));
                let until = self.goal(parts.last()?);
                say(StatementKind::Again(Again { rows: Some(last), until, ..Again::default() }))
            }
            "label_aside" => match (rows_at(0)?.which, rows_at(0)?.explicit) {
                (Which::Numbers(numbers), false) => say(StatementKind::Heading(numbers)),
                _ => say(StatementKind::Note),
            },
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
            "row_told" => {
                let told = parts.iter().rev().find(|part| self.row_op(part).is_some())?;
                say(rows(rows_at(0)?, whole(self.row_op(told)?, self.span(told)), None))
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
            "loose_line" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 1)),
            "loose_line_twice" => say(StatementKind::Line(whole(self.row_op(&parts[0])?, span), 2)),
            "loose_row" => say(StatementKind::Loose(loose()?)),
            "row_that_is" => say(StatementKind::ThatIs(loose()?)),
            "return_rows" => say(StatementKind::Returns { after: rows_at(0)?, content: choices()? }),
            // "The third round, like every round with an uneven number, is plain."
            "row_and_all" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                let mut named = rows_at(1)?;
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
            "again_endless" => {
                say(StatementKind::Again(Again { endless: true, ..open_again(&parts[0])?.clone() }))
            }
            "stocking" => {
                let begun =
                    self.leaf(parts.last()?).is_some_and(|leaf| leaf.terminal == self.marks.begin_purl);
                let ops = if begun { vec![Op::P, Op::K] } else { vec![Op::K, Op::P] };
                say(rows(rows_at(0)?, Content::Turns(ops), None))
            }
            "garter" => say(rows(rows_at(0)?, whole(Op::K, span), None)),
            "return_like_last" => {
                say(StatementKind::Returns { after: rows_at(0)?, content: Content::Like(None) })
            }
            "return_rows_of" => {
                let op = parts.iter().find_map(|part| self.row_op(part))?;
                let after = parts
                    .iter()
                    .filter_map(|part| self.rows(part))
                    .find(|rows| !matches!(rows.which, Which::Count(_)))?;
                say(StatementKind::Returns { after, content: whole(op, span) })
            }
            "return_like" => {
                say(StatementKind::Returns { after: rows_at(1)?, content: Content::Like(rows_at(0)) })
            }
            "every_row_same" => say(StatementKind::Again(Again::default())),
            "every_row_same_total" => {
                let more = self.held(&parts[1])?.checked_sub(1)?;
                let times = Some(AgainTimes { printed: more, more: true });
                let rows = Some(RowSet::named(Which::Last(1)));
                say(StatementKind::Again(Again { rows, times, ..Again::default() }))
            }
            "again" | "again_more_total" | "again_times_first" | "again_range" => {
                let times = parts.iter().find_map(|part| match part {
                    Value::Until(Until::Times(n), _) => Some(*n),
                    _ => None,
                });
                let more = self.says_more(span);
                let times =
                    times.map(|n| AgainTimes { printed: if more { n.saturating_sub(1) } else { n }, more });
                let mut named = rows_at(0)?;
                if let (true, Some(to)) = (action == "again_range", rows_at(1)) {
                    let (Which::Numbers(from), Which::Numbers(to)) = (&named.which, &to.which) else {
                        return None;
                    };
                    let (first, last) = (*from.first()?, *to.last()?);
                    named.which =
                        Which::Numbers((first..=last.min(first.saturating_add(TIMES_LIMIT))).collect());
                }
                say(StatementKind::Again(Again { rows: Some(named), times, ..Again::default() }))
            }
            "again_in_all" | "again_more" | "again_total" => {
                let said = parts.iter().rev().find_map(|part| self.numbers(part).0[0])?;
                let named = rows_at(0);
                let printed = match (action, named.as_ref().map(|rows| &rows.which)) {
                    ("again_more", _) => said,
                    ("again_total", Some(Which::Last(rows) | Which::First(rows))) => {
                        (said / (*rows).max(1)).saturating_sub(1)
                    }
                    ("again_total", Some(Which::Numbers(rows))) => {
                        (said / rows.len() as u32).saturating_sub(1)
                    }
                    ("again_total", _) => return None,
                    _ => parts.iter().find_map(|part| self.numbers(part).0[0])?.saturating_sub(1),
                };
                let times = Some(AgainTimes { printed: printed.min(TIMES_LIMIT), more: true });
                say(StatementKind::Again(Again { rows: named, times, ..Again::default() }))
            }
            // "Repeat these two rows twice (66 stitches)."
            "again_beside" => {
                let Value::Statement(again) = parts[0].clone() else { return None };
                let count = StatementKind::Count(self.numbers(&parts[1]).0[0]?);
                let count = Statement { kind: count, span: self.span(&parts[1]) };
                one(Value::Chain(Some(Rc::new(Value::Chain(None, again))), Rc::new(count)))
            }
            "again_shifted" => {
                say(StatementKind::Again(Again { shifted: true, ..open_again(&parts[0])?.clone() }))
            }
            "again_since" => {
                let times =
                    match parts.iter().find(|part| matches!(part, Value::Until(..))).or(parts.first())? {
                        Value::Until(Until::Times(n), _) if self.says_more(span) => {
                            AgainTimes { printed: n.saturating_sub(1), more: true }
                        }
                        Value::Until(Until::Times(n), _) => AgainTimes { printed: *n, more: false },
                        told => {
                            let in_all = self.numbers(told).0[0].filter(|n| (1..=TIMES_LIMIT).contains(n))?;
                            AgainTimes { printed: in_all - 1, more: true }
                        }
                    };
                let deed = !parts.iter().any(|part| matches!(part, Value::Until(..)));
                say(StatementKind::Again(Again { times: Some(times), deed, ..Again::default() }))
            }
            "again_from_times" => {
                let Value::Until(Until::Times(n), _) = parts.last()? else { return None };
                let printed = if self.says_more(span) { n.saturating_sub(1) } else { *n };
                let times = Some(AgainTimes { printed, more: true });
                say(StatementKind::Again(Again { rows: rows_at(0), from: true, times, ..Again::default() }))
            }
            "again_reversed" => {
                let again = Again { rows: rows_at(0), ..Again::default() };
                say(StatementKind::Reversed(again))
            }
            // "Repeat these rows until there are 30", "continue until the border is deep enough, or 30 rows".
            "again_till" => {
                let last = parts.last()?;
                let (rows, till) = match self.rows(last).map(|rows| rows.which) {
                    Some(Which::Count(rows)) => (None, Some(rows)),
                    Some(_) => return None,
                    None => (rows_at(0), self.numbers(last).0[0]),
                };
                say(StatementKind::Again(Again { rows, till, ..Again::default() }))
            }
            "again_until" => {
                let until = self.goal(parts.last()?);
                say(StatementKind::Again(Again { rows: rows_at(0), until, ..Again::default() }))
            }
            "again_from" | "again_after" => {
                let rows = rows_at(usize::from(action == "again_after"));
                // "From the 8th round to the 13th" goes no further.
                let several =
                    |rows: &RowSet| matches!(&rows.which, Which::Numbers(numbers) if numbers.len() > 1);
                let from = !rows.as_ref().is_some_and(several);
                say(StatementKind::Again(Again { rows, from, ..Again::default() }))
            }
            "again_from_start" => say(StatementKind::Again(Again { from: true, ..Again::default() })),
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

    /// One thing more that is said of growing or shrinking.
    fn shape_bit(&self, action: &str, told: Shaping, bit: &Value) -> Option<Shaping> {
        let number = self.numbers(bit).0[0];
        let marks = self.marks;
        Some(match action {
            "shape_how" => {
                let op = increase_told(number);
                let place = if number == Some(5) { told.place.or(Some(Place::Ends)) } else { told.place };
                Shaping { op, place, ..told }
            }
            "shape_at" if told.place.is_none() => {
                // "In the middle of every other row" may be over what was taken in there before.
                let place = self.place(bit).filter(|place| *place != Place::Middle)?;
                let names_many = [marks.begin, marks.finish, marks.ends].contains(&self.leaf(bit)?.terminal);
                let many = number.filter(|_| names_many).unwrap_or(told.many);
                Shaping { place: Some(place), many, ..told }
            }
            "shape_at_once" => Shaping { at_once: true, ..self.shape_bit("shape_every", told, bit)? },
            // "Knit six rows, decreasing at both ends of every second row."
            "shape_every" if told.every.is_some() && told.times.is_none() && told.until.is_none() => {
                let every = told.every.filter(|every| *every > 0)?;
                match self.rows(bit)?.which {
                    Which::Count(rows) => {
                        Shaping { times: Some(rows / every).filter(|times| *times > 0), ..told }
                    }
                    _ => return None,
                }
            }
            "shape_every" if told.every.is_none() => {
                let named = self.rows(bit)?;
                let ground = named.told.or(told.ground);
                let (every, times) = match named.which {
                    Which::Every | Which::Pattern => (1, told.times),
                    Which::Even | Which::Odd | Which::Alternate => (2, told.times),
                    Which::EveryNth(n) => (n, told.times),
                    Which::Next(rows) => (1, Some(rows)),
                    Which::Count(rows) if rows > 1 || told.within > 0 => (1, Some(rows)),
                    _ => return None,
                };
                Shaping { every: Some(every), times, ground, ..told }
            }
            "shape_next" if told.every.is_none() => Shaping { every: Some(1), times: Some(1), ..told },
            "shape_until" if told.until.is_none() => Shaping { until: Some(self.goal(bit)?), ..told },
            "shape_between" if told.every.is_none() => {
                Shaping { every: Some(number.filter(|rows| *rows <= TIMES_LIMIT)? + 1), ..told }
            }
            "shape_smooth" => Shaping { smooth: true, ..told },
            // "Of every plain row": those between show the other face.
            "shape_on_face" if told.every.is_none() => Shaping { every: Some(2), smooth: true, ..told },
            "shape_done" if told.times.is_none() => {
                Shaping { times: Some(number.filter(|times| *times <= TIMES_LIMIT)?), ..told }
            }
            "shape_within" => Shaping { within: number?, ..told },
            "shape_after_first" => {
                let place = told.place.or(Some(Place::Begin));
                Shaping { within: self.held(bit)?, place, at_once: told.every.is_none(), ..told }
            }
            // "After the first two and before the last three" is no shaping alike at both ends.
            "shape_inside_both" if self.numbers(bit).0[1].is_some_and(|last| Some(last) != number) => {
                return None;
            }
            "shape_inside_both" => {
                let at_once = told.every.is_none();
                Shaping { within: self.held(bit)?, place: Some(Place::Ends), at_once, ..told }
            }
            "shape_times" if told.times.is_none() => match bit {
                Value::Until(Until::Times(times), _) => Shaping { times: Some(*times), ..told },
                _ => return None,
            },
            _ => return None,
        })
    }

    /// The stitches at which rows end that go on.
    pub(super) fn goal(&self, value: &Value) -> Option<Goal> {
        if let Some(rows) = self.rows(value) {
            return match rows.which {
                Which::Next(count) | Which::Count(count) => Some(Goal::Rows(count)),
                _ => None,
            };
        }
        let terminal = self.leaf(value)?.terminal;
        if terminal == self.marks.all_worked {
            return Some(Goal::All);
        }
        if terminal == self.marks.as_cast_on {
            return Some(Goal::AsCastOn);
        }
        let ([count, in_all], _) = self.numbers(value);
        let count = count?;
        // "Until there are twelve on each side needle, or forty-eight in all."
        if let Some(in_all) = in_all {
            return Some(Goal::InAll(in_all));
        }
        Some(if terminal == self.marks.left_on_needle {
            Goal::OnNeedle(count)
        } else if terminal == self.marks.reaches {
            Goal::Told(count)
        } else {
            Goal::InAll(count)
        })
    }

    /// Whether the words under a span say "more"; the times of such an idiom already count the first.
    fn says_more(&self, span: Span) -> bool {
        self.leaves.iter().any(|leaf| span.covers(leaf.span) && leaf.terminal == self.marks.more)
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

/// Rows that are worked again, where it is not told how often or until when.
fn open_again(value: &Value) -> Option<&Again> {
    let Value::Statement(statement) = value else { return None };
    match &statement.kind {
        StatementKind::Again(again) if again.times.is_none() && again.until.is_none() => Some(again),
        _ => None,
    }
}

/// Whether all stitches would be cast off in several rows.
fn casts_off_often(named: &RowSet, content: &Content) -> bool {
    let often = matches!(named.which, Which::Count(n) | Which::Next(n) if n > 1);
    matches!(content, Content::Work(seqs) if often && seqs.iter().any(|(_, seq)| is_bind_off(seq)))
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
