//! Actions whose value is a sequence of stitches, or how often one is worked.

use super::*;
use crate::rowwork::context_cost;

/// Nats against a word that works what is left behind a repeat across the row. Guess: it may be the next row.
const THEN_REST: f64 = 1.5;

/// Nats against several yarn overs side by side where a number of times is said. Guess.
const OVER_AND_OVER: f64 = 2.0;
/// Nats against plain stitches worked so many times over where the list they end could be meant. Guess.
const PLAIN_AGAIN: f64 = 2.0;
/// Nats against one thing worked so often where a comma parts the number of times from it. Guess.
const PARTED_AGAIN: f64 = 0.6;
/// Nats against the last stitch told before the other half of a row being the middle of it. Guess: mostly that is said.
const MIDDLE_UNSAID: f64 = 0.8;
/// Nats against so often for a list in which more parts its members than parts the number from it. Guess.
const PARTED_LIST: f64 = 1.5;

impl Builder<'_> {
    pub(super) fn sequence_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let seq = |value: &Value| match value {
            Value::Seq(seq) => Some(seq.clone()),
            _ => None,
        };
        let until = |value: &Value| match value {
            Value::Until(until, span) => Some((*until, *span)),
            _ => None,
        };
        let group = |body: Seq, until: Until, span: Span| {
            one(Value::Seq(Seq::one(Item::Group { body, until, span })))
        };
        let first_seq = || parts.iter().find_map(seq);
        let last_until = || parts.iter().rev().find_map(until);
        match action {
            "first" => one(parts.first()?.clone()),
            "second" => one(parts.get(1)?.clone()),
            "third" => one(parts.get(2)?.clone()),
            "last" => one(parts.last()?.clone()),
            // Only one part of a row can go to its end, but for a word that works what is left behind a repeat.
            "cat" => {
                let (cost, all) = self.joined(parts.iter().filter_map(seq))?;
                let ends = |until: &Until| *until == Until::End;
                let open = all.shape().open.as_slice();
                let past_the_middle = matches!(open, [(_, Until::Middle(_), _), (_, Until::End, _)]);
                let then_rest = match open {
                    [(_, first, _), (rest, last, _)] => {
                        ends(first) && ends(last) && rest.takes == 1 && rest.makes == 1
                    }
                    _ => false,
                };
                let dear = if then_rest { THEN_REST } else { 0.0 };
                (then_rest || past_the_middle || open.len() < 2).then(|| vec![(cost + dear, Value::Seq(all))])
            }
            "needle_part" => one(Value::Parts(Rc::new(vec![parts.iter().find_map(seq)?]))),
            "last_of_each" => {
                let span = self.span(&parts[0]);
                let rest = Item::Rest { op: Op::K, until: Until::End, span };
                let pair = Work { ops: Rc::from([Op::K2tog]), times: 1, span, number: None, sense: None };
                let part = Parts::Same(Seq::of([rest, Item::Work(pair)])?);
                one(Value::Seq(Seq::one(Item::ByNeedle(Rc::new(part), Shares::default()))))
            }
            "needle_rest" => {
                let rest =
                    Item::Rest { op: self.row_op(&parts[0])?, until: Until::End, span: self.span(&parts[0]) };
                one(Value::Parts(Rc::new(vec![Seq::one(rest)])))
            }
            "needle_parts" => {
                let mut all: Vec<Seq> = Vec::new();
                for part in parts {
                    match part {
                        Value::Parts(parts) => all.extend(parts.iter().cloned()),
                        Value::Seq(seq) => all.push(seq.clone()),
                        _ => {}
                    }
                }
                (all.len() <= MOST).then(|| one(Value::Parts(Rc::new(all)))).flatten()
            }
            "by_needle" => match &parts[0] {
                Value::Parts(parts) if parts.len() > 1 => {
                    let parts = Parts::Each(parts.to_vec());
                    one(Value::Seq(Seq::one(Item::ByNeedle(Rc::new(parts), Shares::default()))))
                }
                _ => None,
            },
            "each_needle" => {
                let part = parts.iter().find_map(seq)?;
                let parts = Parts::Same(part);
                one(Value::Seq(Seq::one(Item::ByNeedle(Rc::new(parts), Shares::default()))))
            }
            "passing_over" => {
                let (cost, all) = self.joined(parts.iter().filter_map(seq))?;
                Some(vec![(cost, Value::Seq(all.passing_over()))])
            }
            "stitch" => self.stitch(&parts[0]),
            "move" => match &self.leaf(&parts[0])?.payload {
                Payload::Sense { sense, .. } => match self.lexicon.sense(*sense).meaning {
                    Meaning::Move(to) => one(Value::Seq(Seq::one(Item::Move(to, self.span(&parts[0]))))),
                    _ => None,
                },
                _ => None,
            },
            "rest" => {
                let all = parts.iter().rev().find(|part| self.row_op(part).is_some())?;
                one(Value::Seq(Seq::one(Item::Rest {
                    op: self.row_op(all)?,
                    until: Until::End,
                    span: self.span(all),
                })))
            }
            // "Thread twice round, take in, and the same once more": how much of it is the same, the stitches must tell.
            "same_again" => {
                let items = first_seq()?.items();
                let again = |last: usize| {
                    let from = items.len() - last;
                    let all = items.iter().chain(&items[from..]).cloned();
                    Some((0.1 * (last.abs_diff(2)) as f64, Value::Seq(Seq::of(all)?)))
                };
                Some((1..=items.len().min(4)).filter_map(again).collect())
            }
            // "Before every stitch the cotton is thrown over."
            "over_each" => {
                let span = self.span(&parts[0]);
                let work = |op: Op| {
                    Item::Work(Work { ops: Rc::from([op]), times: 1, span, number: None, sense: None })
                };
                let kind = self.numbers(&parts[0]).0[0];
                let first = kind != Some(2);
                let body =
                    Seq::of(if first { [work(Op::Yo), work(Op::K)] } else { [work(Op::K), work(Op::Yo)] })?;
                let all = Seq::one(Item::Group { body, until: Until::End, span });
                // "Before every stitch but the first."
                let but_first = kind == Some(3);
                one(Value::Seq(if but_first { Seq::one(work(Op::K)).and(&all) } else { all }))
            }
            // "Eight intakes, with six plain stitches before each."
            "intakes" => {
                let ([first, second], _) = self.numbers(&parts[0]);
                let held = [first, second].into_iter().flatten().all(|number| number <= TIMES_LIMIT);
                let (plain, span) = (second.or(first).filter(|_| held)?, self.span(&parts[0]));
                let work = |op: Op, times| self.single(op, times, span);
                let body = Seq::of([work(Op::K, plain), work("k2tog".parse().ok()?, 1)])?;
                one(Value::Seq(Seq::one(Item::Group { body, until: Until::End, span })))
            }
            "let_fall" => {
                let op = self.row_op(&parts[0])?;
                let fall = if self.numbers(&parts[1]).0[0] == Some(2) { Fall::All } else { Fall::Extra };
                one(Value::Seq(Seq::one(Item::LetFall(op, fall, self.spans(parts)))))
            }
            "close_knots" => {
                let told = if self.numbers(parts.last()?).0[0] == Some(2) { Op::P } else { Op::K };
                let op = self.row_op(&parts[0]).unwrap_or(told);
                one(Value::Seq(Seq::one(Item::LetFall(op, Fall::Knots, self.spans(parts)))))
            }
            "purl_overs" => {
                let seen = Seen::Overs(Op::P, self.row_op(&parts[0])?);
                one(Value::Seq(Seq::one(Item::Seen(seen, self.spans(parts)))))
            }
            "double_overs" => {
                let other = self.row_op(&parts[0])?;
                let (first, second) = match self.numbers(&parts[1]).0[0]? {
                    1 => (other, Op::P),
                    2 => (other, Op::K),
                    3 => (Op::K, Op::P),
                    _ => (Op::P, Op::K),
                };
                let seen = Seen::Wound { first, second, other };
                one(Value::Seq(Seq::one(Item::Seen(seen, self.spans(parts)))))
            }
            "rest_to" => {
                let op = self.row_op(&parts[0])?;
                let left = parts[1..].iter().find_map(|part| self.numbers(part).0[0])?;
                one(Value::Seq(Seq::one(Item::Rest {
                    op,
                    until: Until::Left(left),
                    span: self.spans(parts),
                })))
            }
            "rest_to_seam" => {
                let within = self.numbers(&parts[1]).0[0].filter(|n| *n <= TIMES_LIMIT)?;
                let (op, span) = (self.row_op(&parts[0])?, self.spans(parts));
                let rest = |(cost, left)| {
                    (cost, Value::Seq(Seq::one(Item::Rest { op, until: Until::Left(left), span })))
                };
                // Or it is in the middle.
                let middle = Item::Rest { op, until: Until::Middle(within), span };
                let middle = (SEAM_IN_THE_MIDDLE, Value::Seq(Seq::one(middle)));
                Some(before_seam(within).into_iter().map(rest).chain([middle]).collect())
            }
            "rest_to_middle" => {
                let (op, left) = (self.row_op(&parts[0])?, self.held(&parts[1])?);
                let rest = Item::Rest { op, until: Until::Middle(left), span: self.spans(parts) };
                one(Value::Seq(Seq::one(rest)))
            }
            "all_but" => {
                let left = self.numbers(&parts[0]).0[0]?;
                let rest = Item::Rest { op: Op::Bo, until: Until::Left(left), span: self.span(&parts[0]) };
                one(Value::Seq(Seq::one(rest)))
            }
            "all_but_these" => {
                let left = self.numbers(&parts[0]).0[0].filter(|left| *left <= TIMES_LIMIT)?;
                let off = Item::Rest { op: Op::Bo, until: Until::Left(left), span: self.span(&parts[0]) };
                let rest = parts.last()?;
                let (op, span) = (self.row_op(rest)?, self.span(rest));
                let kept = Work { ops: Rc::from([op]), times: left, span, number: None, sense: None };
                one(Value::Seq(Seq::of([off, Item::Work(kept)])?))
            }
            // "One row without making a stitch. Then …" tells no more of the row.
            "label_with" => {
                let counted = self.rows(&parts[0]).is_some_and(|rows| matches!(rows.which, Which::Count(_)));
                let ended = self.leaf(&parts[1]).is_some_and(|aside| aside.after >= Gap::Period);
                Some(vec![(if counted && ended { COUNT_ENDED } else { 0.0 }, parts[0].clone())])
            }
            // "Begin the seventh row by …": one row, not how rows begin.
            "rows_begun" => {
                let one = |rows: &RowSet| match &rows.which {
                    Which::Numbers(numbers) => numbers.len() == 1,
                    Which::Next(rows) => *rows == 1,
                    _ => false,
                };
                self.rows(&parts[1]).is_some_and(|rows| one(&rows)).then(|| vec![(0.0, parts[1].clone())])
            }
            "on_rows" => (!self.told_before(parts)).then(|| vec![(0.0, parts[1].clone())]),
            "cast_more" => {
                let (numbers, number) = self.numbers(&parts[0]);
                let times = numbers[0].filter(|n| (1..=TIMES_LIMIT).contains(n))?;
                let span = self.span(&parts[0]);
                let work = Work { ops: Rc::from([Op::Co]), times, span, number, sense: None };
                one(Value::Seq(Seq::one(Item::Work(work))))
            }
            "cable" => self.cable(parts),
            // "Knit, but keep the two seam stitches purled."
            "seams_kept" if self.row_op(&parts[0]) == Some(Op::K) => {
                one(Value::Seq(Seq::one(Item::Seen(Seen::SeamsKept, self.spans(parts)))))
            }
            "seen" => one(Value::Seq(self.seen(&parts[0]))),
            "seen_some" => {
                let count = self.numbers(&parts[0]).0[0].filter(|count| *count > 0)?;
                one(Value::Seq(Seq::one(Item::SeenSome(count, self.span(&parts[0])))))
            }
            "rest_but_edge" => {
                let rest =
                    Item::Rest { op: self.row_op(&parts[0])?, until: Until::End, span: self.span(&parts[0]) };
                let edge = |op| self.single(op, 1, self.span(&parts[1]));
                let last = (self.numbers(&parts[1]).0[0] == Some(2)).then(|| edge(Op::K));
                one(Value::Seq(Seq::of([edge(Op::Slp), rest].into_iter().chain(last))?))
            }
            // "Purl all but three at each end, which are knitted."
            "rest_but_both" => {
                let (op, span) = (self.row_op(&parts[0])?, self.span(&parts[0]));
                let told = parts.get(3).and_then(|part| self.row_op(part));
                let first = self.last(told.unwrap_or(if op == Op::K { Op::P } else { Op::K }), &parts[1])?;
                let other = self.numbers(&parts[1]).0[1].unwrap_or(first.times);
                let times = Some(other).filter(|times| (1..=TIMES_LIMIT).contains(times))?;
                let last = Work { times, ..first.clone() };
                let rest = Item::Rest { op, until: Until::End, span };
                one(Value::Seq(Seq::of([Item::Work(first), rest, Item::Work(last)])?))
            }
            "slip_and_rest" => {
                let words = parts.iter().find(|part| self.row_op(part).is_none())?;
                let slipped = self.single(Op::Slp, 1, self.span(words));
                let (op, span) = parts.iter().find_map(|part| Some((self.row_op(part)?, self.span(part))))?;
                one(Value::Seq(Seq::of([slipped, Item::Rest { op, until: Until::End, span }])?))
            }
            "those" => {
                let body = parts.iter().filter_map(seq).reduce(|all, next| all.and(&next))?;
                let [(_, Until::Left(left), _)] = body.shape().open.as_slice() else { return None };
                let (op, times) = match self.numbers(parts.last()?).0[0] {
                    Some(1) => (Op::K, *left),
                    Some(2) => (Op::P, *left),
                    // "Take these in, two and two."
                    Some(4) if left.is_multiple_of(2) => (Op::K2tog, left / 2),
                    Some(4) => return None,
                    _ => (format!("k{left}tog").parse().ok()?, 1),
                };
                let those = self.single(op, times, self.span(parts.last()?));
                one(Value::Seq(body.and(&Seq::one(those))))
            }
            "last_plain" => one(Value::Seq(Seq::one(Item::Work(self.last(Op::K, &parts[0])?)))),
            "last_purl" => one(Value::Seq(Seq::one(Item::Work(self.last(Op::P, &parts[0])?)))),
            // "Knitted plain, the last two together."
            "rest_and_together" => {
                let op = self.row_op(&parts[0])?;
                let last = self.held(&parts[1]).filter(|last| (2..=9).contains(last))?;
                let together = format!("{}{last}tog", if op == Op::P { "p" } else { "k" }).parse().ok()?;
                let until = Until::Left(last);
                one(Value::Seq(Seq::of([
                    Item::Rest { op, until, span: self.span(&parts[0]) },
                    self.single(together, 1, self.span(&parts[1])),
                ])?))
            }
            // "Purled; the last three stitches knitted."
            "rest_and_last" => {
                let op = self.row_op(&parts[0])?;
                let last = self.last(if op == Op::K { Op::P } else { Op::K }, &parts[1])?;
                let until = Until::Left(last.times);
                one(Value::Seq(Seq::of([
                    Item::Rest { op, until, span: self.span(&parts[0]) },
                    Item::Work(last),
                ])?))
            }
            // "Over and knit 1 six times": what "and" joins is worked so often together.
            "pair_times" => {
                let (until, span) = last_until()?;
                let body = parts.iter().filter_map(seq).reduce(|all, next| all.and(&next))?;
                body.shape().open.is_empty().then(|| group(body, until, span)).flatten()
            }
            // "Over, knit 3 *.": a star alone at the end of a sentence.
            "star_ends" => {
                let ended = self.leaf(&parts[1]).is_some_and(|star| star.after >= Gap::Period);
                let body = first_seq().filter(|body| ended && !body.turns())?;
                group(body, Until::End, Span::DETACHED)
            }
            "bracket_times" | "bracket_until" | "seq_times" | "star_times" | "star_until" => {
                let (until, span) = last_until().unwrap_or((Until::End, Span::DETACHED));
                let body = first_seq()?;
                // Rows that are turned are repeated in height; what is said of that is read as such.
                if body.turns() && !matches!(until, Until::Times(_)) {
                    let alone = span == Span::DETACHED;
                    return alone.then(|| one(Value::Seq(body))).flatten();
                }
                if action == "seq_times" && (body.shape().open.is_empty() == matches!(until, Until::End)) {
                    return None;
                }
                let long = if action == "seq_times" { self.often_cost(&body, until, span) } else { 0.0 };
                let built = group(body, until, span)?;
                Some(built.into_iter().map(|(cost, value)| (cost + long, value)).collect())
            }
            // "Knit two, purl two, for sixteen stitches."
            "over_stitches" => {
                let over = self.held(parts.last()?)?;
                let body = first_seq().filter(|body| body.shape().open.is_empty() && !body.turns())?;
                let takes = body.shape().fixed.takes;
                let fills = takes > 0 && over > takes && over.is_multiple_of(takes);
                let until = Until::Times(over / takes.max(1));
                fills.then(|| group(body, until, self.span(&parts[1])))?
            }
            // "Repeat from * three times more, the last time knitting only two."
            "star_times_last" => {
                let (Until::Times(times), span) = last_until()? else { return None };
                let last = self.held(parts.last()?)?;
                let body = first_seq().filter(|body| body.shape().open.is_empty() && !body.turns())?;
                let mut items = body.items();
                let Some(Item::Work(work)) = items.pop().filter(|_| times > 1) else { return None };
                let shorter = last < work.times && *work.ops == [Op::K];
                let cut = Seq::of(items.into_iter().chain([Item::Work(Work { times: last, ..work })]))?;
                let often = Seq::one(Item::Group { body, until: Until::Times(times - 1), span });
                shorter.then(|| one(Value::Seq(often.and(&cut)))).flatten()
            }
            // "Knit 3, drop 1, repeat three times more, knit 1."
            "star_times_then" => {
                let (until, span) = last_until()?;
                let body = first_seq().filter(|body| body.shape().open.is_empty() && !body.turns())?;
                let often = Seq::one(Item::Group { body, until, span });
                one(Value::Seq(often.and(&seq(parts.last()?)?)))
            }
            "times_seq" => {
                let (until, span) = until(&parts[0])?;
                group(first_seq()?, until, span)
            }
            // Only what has members is worked by turns.
            "times_by_turns" => {
                let (until, span) = last_until()?;
                group(first_seq().filter(|body| body.item_count() > 1 && !body.once_only())?, until, span)
            }
            "by_turns_to_the_end" | "by_turns_until" => {
                let (until, span) = last_until().unwrap_or((Until::End, Span::DETACHED));
                group(first_seq().filter(|body| body.item_count() > 1 && !body.once_only())?, until, span)
            }
            "unmarked_until" => {
                let (until, span) = last_until()?;
                let body = first_seq()?;
                if !body.shape().open.is_empty() || body.once_only() {
                    return None;
                }
                let short = match body.items().as_slice() {
                    [_] => ONE_REPEATED,
                    [Item::Work(first), ..] if first.times == 1 && *first.ops == [Op::Slp] => EDGE_REPEATED,
                    _ => 0.0,
                };
                let built = group(body, until, span)?;
                Some(built.into_iter().map(|(cost, value)| (cost + short, value)).collect())
            }
            "knit_colour" => {
                let many = self.numbers(&parts[0]).0[0].filter(|many| *many <= TIMES_LIMIT)?;
                one(Value::Seq(Seq::one(self.single(Op::K, many, self.spans(parts)))))
            }
            "all_in_one" => {
                let op = in_one(&first_seq()?)?;
                let span = self.spans(parts);
                let work = Work { ops: Rc::from([op]), times: 1, span, number: None, sense: None };
                one(Value::Seq(Seq::one(Item::Work(work))))
            }
            "explained" => {
                let said = self.stitch(&parts[0])?;
                let how = first_seq()?;
                let Value::Seq(told) = &said.first()?.1 else { return None };
                // "Three are narrowed to one (slip one, …)": the brackets tell which way it leans.
                let one = how.item_count() == 1 && told.item_count() == 1;
                let same = told.shape() == how.shape();
                same.then(|| if one { vec![(0.0, Value::Seq(how))] } else { said })
            }
            // "Make three stitches of the next by knit one, purl one, knit one, all in the same stitch."
            "explained_in_one" => {
                let said = self.work_of(&parts[0])?;
                let op = in_one(&first_seq()?)?;
                let made = |ops: &[Op]| ops.iter().map(|op| op.makes()).sum::<u32>();
                let span = self.spans(parts);
                let work = Work { ops: Rc::from([op]), times: said.times, span, number: None, sense: None };
                (made(&said.ops) == op.makes()).then(|| one(Value::Seq(Seq::one(Item::Work(work))))).flatten()
            }
            // "Knit, purl and knit in the sixth stitch (three stitches out of one)".
            "explained_after" => {
                let (told, said) = (self.stitch(&parts[0])?, self.stitch(&parts[2])?);
                let (Value::Seq(one_way), Value::Seq(other)) = (&told.first()?.1, &said.first()?.1) else {
                    return None;
                };
                let knot = one_way.shape().fixed.makes > 2;
                (knot && one_way.shape() == other.shape()).then_some(told)
            }
            // "Four k. (knit plain)."
            "said_again" => {
                let (told, op) = (self.stitch(&parts[0])?, self.row_op(&parts[2])?);
                let alike = self.work_of(&parts[0]).is_some_and(|work| *work.ops == [op]);
                alike.then_some(told)
            }
            "implied_then" => {
                let head = seq(&parts[0])?;
                let tail = seq(&parts[1])?;
                let open =
                    Seq::one(Item::Group { body: head.clone(), until: Until::End, span: Span::DETACHED });
                head.shape().open.is_empty().then(|| one(Value::Seq(open.and(&tail)))).flatten()
            }
            "implied" => {
                let body = first_seq()?;
                let group = |body: Seq, until, span| {
                    let over = body.passes_over();
                    let seq = Seq::one(Item::Group { body, until, span });
                    one(Value::Seq(if over { seq.passing_over() } else { seq }))
                };
                // A row that is nothing but so many times something is told whole.
                let whole = matches!(body.items().as_slice(), [Item::Group { until: Until::Times(_), .. }]);
                let built = (body.shape().open.is_empty() && !body.once_only())
                    .then(|| group(body, Until::End, Span::DETACHED))
                    .flatten()?;
                let short = if whole { WHOLE_REPEATED } else { 0.0 };
                Some(built.into_iter().map(|(cost, value)| (cost + short, value)).collect())
            }
            // So many plain and so many purled, to the end of the row; of a rib by name as many plain as purled.
            "rib" => {
                let [plain, purled] = self.numbers(&parts[0]).0;
                let span = self.span(&parts[0]);
                let work = |op: Op, times: u32| {
                    let ops = Rc::from([op]);
                    let work = Work { ops, times, span, number: None, sense: None };
                    (1..100).contains(&times).then_some(Item::Work(work))
                };
                let body = Seq::of([work(Op::K, plain?)?, work(Op::P, purled.or(plain)?)?])?;
                one(Value::Seq(Seq::one(Item::Group { body, until: Until::End, span })))
            }
            "mirrored" => {
                let half = first_seq()?;
                let said = self.spans(parts);
                let items = half.items();
                let middle = |item: &Item| match item {
                    Item::Work(work) => {
                        let sense = work.sense.map(|sense| self.lexicon.sense(sense));
                        sense.is_some_and(|sense| sense.context == Some(Context::Middle))
                    }
                    _ => false,
                };
                let (last, side) = items.split_last()?;
                let mirrored = |side: &Seq| Some(Value::Seq(half.and(&side.mirrored(said)?)));
                let about_last = Seq::of(side.iter().cloned()).and_then(|side| mirrored(&side));
                if middle(last) {
                    return one(about_last?);
                }
                // The last stitch told may be the one in the middle without a word on it.
                let single = matches!(last, Item::Work(work) if work.times == 1);
                let about_last = about_last.filter(|_| single).map(|value| (MIDDLE_UNSAID, value));
                Some([(0.0, mirrored(&half)?)].into_iter().chain(about_last).collect())
            }
            "modified" => self.modified(&parts[0], &parts[1]),
            _ => None,
        }
    }

    /// Stretches one after the other, with what speaks against their standing so.
    pub(super) fn joined(&self, parts: impl Iterator<Item = Seq>) -> Option<(f64, Seq)> {
        let join = |(cost, all): (f64, Seq), (more, next): (f64, Seq)| {
            (cost + more + context_cost(&all, &next, self.lexicon), all.and(&next))
        };
        parts.map(|seq| (0.0, seq)).reduce(join)
    }

    /// One operation that stands for no phrase of the lexicon.
    pub(super) fn single(&self, op: Op, times: u32, span: Span) -> Item {
        Item::Work(Work { ops: Rc::from([op]), times, span, number: None, sense: None })
    }

    pub(super) fn stitch(&self, value: &Value) -> Option<Built> {
        let leaf = self.leaf(value)?;
        let Payload::Sense { sense, numbers, number } = &leaf.payload else { return None };
        let (ops, times) = self.lexicon.sense(*sense).meaning.ops(*numbers)?;
        // "1 chain" is the edge stitch; only more than one are cast off.
        let chain = self.lexicon.sense(*sense).context == Some(Context::Chain);
        if times == 0 || times > TIMES_LIMIT || chain && times < 2 {
            return None;
        }
        let work = Work { ops: ops.into(), times, span: leaf.span, number: *number, sense: Some(*sense) };
        one(Value::Seq(Seq::one(Item::Work(work))))
    }

    /// Stitches worked by what they look like, or by what they were in the row before.
    pub(super) fn seen(&self, told: &Value) -> Seq {
        let seen = match self.numbers(told).0[0] {
            Some(0) => Seen::AsItShows,
            Some(2) => Seen::Slipped(Op::Slp, Op::K),
            Some(3) => Seen::Slipped(Op::SlWyif, Op::K),
            Some(4) => Seen::Slipped(Op::Slp, Op::P),
            Some(5) => Seen::Slipped(Op::SlWyif, Op::P),
            Some(6) => Seen::Slipped(Op::K, Op::Slp),
            Some(7) => Seen::Slipped(Op::P, Op::SlWyif),
            Some(8) => Seen::Overs(Op::P, Op::K),
            _ => Seen::Against,
        };
        Seq::one(Item::Seen(seen, self.span(told)))
    }

    /// "Slip 3 on a spare needle, keep it in front, knit 3, then knit the 3 from the spare needle". Without a word
    /// on where the needle hangs it is before the work: the needle is at hand there, common practice.
    fn cable(&self, parts: &[Value]) -> Option<Built> {
        let held = u8::try_from(self.numbers(&parts[0]).0[0]?).ok().filter(|held| *held > 0)?;
        let worked = parts.iter().find_map(|part| match part {
            Value::Seq(seq) => Some(seq.clone()),
            _ => None,
        })?;
        let items = worked.items();
        let [Item::Work(work)] = items.as_slice() else { return None };
        let (purl, plain) = (*work.ops == [Op::P], *work.ops == [Op::K]);
        let front = self.numbers(&parts[1]).0[0] != Some(2);
        let held_purl = self.numbers(parts.last()?).0[0] == Some(2);
        let width = u8::try_from(work.times).ok().filter(|width| *width > 0 && (purl || plain))?;
        let cross = Op::Cross(Cross { held, worked: width, front, held_purl, worked_purl: purl });
        let span = self.spans(parts);
        one(Value::Seq(Seq::one(Item::Work(Work {
            ops: Rc::from([cross]),
            times: 1,
            span,
            number: None,
            sense: None,
        }))))
    }

    /// So many stitches at the end of a row.
    pub(super) fn last(&self, op: Op, part: &Value) -> Option<Work> {
        let (numbers, number) = self.numbers(part);
        let times = numbers[0].filter(|times| (1..=TIMES_LIMIT).contains(times))?;
        Some(Work { ops: Rc::from([op]), times, span: self.span(part), number, sense: None })
    }

    /// Nats against a number of times for the stitches before it, which may be some of a longer list.
    fn often_cost(&self, body: &Seq, until: Until, often: Span) -> f64 {
        let before = self.gap_before(often);
        let items = body.items();
        match items.as_slice() {
            // A thread thrown over twice is one long loop, not two.
            _ if is_over(body) => OVER_AND_OVER,
            // Nobody knits two four times: so many are told at once.
            [Item::Work(work)] if matches!(&*work.ops, [Op::K | Op::P]) => PLAIN_AGAIN,
            // "Six plain, two together, three times": only where there is a list that the number could be of; what is done
            // twice is mostly one thing.
            [one] if before >= Gap::Comma && until != Until::Times(2) => {
                let listed = (Gap::Comma..=before).contains(&self.gap_before(one.span()));
                if listed { PARTED_AGAIN } else { 0.0 }
            }
            // A number after a list is likelier to mean its last member than all of it, and does not reach back over what
            // parts more than it is parted itself.
            [_, rest @ ..] => {
                let least = if before < Gap::Comma { Gap::Point } else { before };
                let parted = rest.iter().any(|item| self.gap_before(item.span()) > least);
                0.06 * rest.len() as f64 + if parted { PARTED_LIST } else { 0.0 }
            }
            [] => 0.0,
        }
    }

    /// "Plain, decreasing one at each end."
    pub(super) fn modified(&self, all: &Value, ends: &Value) -> Option<Built> {
        let Value::Statement(statement) = ends else { return None };
        let StatementKind::Shaping(told) = statement.kind else { return None };
        told.place?;
        one(Value::Seq(told.row(self.row_op(all)?, self.span(all).to(statement.span))?))
    }

    pub(super) fn until_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let printed =
            || parts.iter().rev().find_map(|part| self.numbers(part).0[0]).filter(|n| *n <= TIMES_LIMIT);
        let until = |times: u32| Value::Until(Until::Times(times), span);
        match action {
            "exactly" => one(until(printed().filter(|n| *n > 0)?)),
            "more" => one(until(printed()? + 1)),
            "more_or_all" => {
                let n = printed().filter(|n| *n > 0)?;
                Some(vec![(0.2, until(n + 1)), (1.2, until(n))])
            }
            "to_end" => one(Value::Until(Until::End, span)),
            // The seam stitch itself is none of the stitches within which the row stops.
            "to_seam" => {
                let within = printed().filter(|within| *within <= TIMES_LIMIT)?;
                let until = |(cost, left)| (cost, Value::Until(Until::Left(left), span));
                Some(before_seam(within).into_iter().map(until).collect())
            }
            "to_last" => one(Value::Until(Until::Left(printed()?), span)),
            "pair" => {
                let until = self.goal(parts.last()?)?;
                one(Value::Onward(Onward { until: Some(until), ..told_onward(&parts[0]) }, span))
            }
            "pair_to_row" => {
                let to_row = Some(self.numbers(parts.last()?).0[0]?);
                one(Value::Onward(Onward { to_row, ..told_onward(&parts[0]) }, span))
            }
            // "Until the round has been worked in which …, and twenty remain": no plain row comes after it.
            "pair_with_the_row" => {
                let until = Some(self.goal(parts.last()?)?);
                one(Value::Onward(Onward { until, ends_plain: false, ..told_onward(&parts[0]) }, span))
            }
            "go_resting" => {
                let rests = Some(printed()?).filter(|rests| *rests <= TIMES_LIMIT);
                one(Value::Onward(Onward { rests, ..Onward::default() }, span))
            }
            // "Every other round being plain."
            "go_rested" => {
                let onward = told_onward(&parts[0]);
                let rests = printed().filter(|rests| *rests <= TIMES_LIMIT).or(onward.rests);
                one(Value::Onward(Onward { rests, ..onward }, span))
            }
            // "Repeat this decrease in every fourth row."
            "go_every" => {
                let onward = told_onward(&parts[0]);
                let rests = match self.rows(parts.last()?)?.which {
                    Which::EveryNth(nth) => nth.checked_sub(1),
                    Which::Alternate => Some(1),
                    _ => None,
                };
                one(Value::Onward(Onward { rests: rests.or(onward.rests), ..onward }, span))
            }
            "go_rests_less" => {
                let fewer = printed()?;
                one(Value::Onward(Onward { rests_fewer: Some(fewer), ..told_onward(&parts[0]) }, span))
            }
            "every_row" => one(Value::Onward(Onward { every_row: true, ..Onward::default() }, span)),
            "go_to_plain" => one(Value::Onward(Onward { ends_plain: true, ..told_onward(&parts[0]) }, span)),
            "go_more" | "go_less" | "every_more" | "every_less" => {
                let by = i32::try_from(printed()?).ok().filter(|by| (1..100).contains(by))?;
                let step = Some(if action.ends_with("more") { by } else { -by });
                let every_row = action.starts_with("every");
                let said = self.span(parts.last()?);
                let mut words = self.tokens.iter().filter(|token| said.covers(token.span));
                let at_sides = words.any(|token| matches!(token.text.as_str(), "side" | "sides"));
                one(Value::Onward(Onward { step, at_sides, every_row, ..told_onward(&parts[0]) }, span))
            }
            _ => None,
        }
    }
}

/// What is told before of how rows go on.
pub(super) fn told_onward(value: &Value) -> Onward {
    match value {
        Value::Onward(onward, _) => *onward,
        _ => Onward::default(),
    }
}

/// Nats against the seam stitch being in the middle of what is told. Guess.
const SEAM_IN_THE_MIDDLE: f64 = 1.5;

/// Nats against working again and again what is told as so many times something.
const WHOLE_REPEATED: f64 = 2.5;

/// How many stitches are left so many before the seam, which is the last of its round or the first of the next.
fn before_seam(within: u32) -> [(f64, u32); 2] {
    [(0.0, within + 1), (0.5, within)]
}

/// Whether a sequence is one yarn over.
fn is_over(seq: &Seq) -> bool {
    matches!(seq.items().as_slice(), [Item::Work(work)] if *work.ops == [Op::Yo] && work.times == 1)
}

/// The operation that works all of some stitches in one.
fn in_one(told: &Seq) -> Option<Op> {
    /// Stitches that may be worked in one.
    const MOST: u32 = 5;
    let mut name = String::new();
    for item in told.items() {
        let Item::Work(work) = item else { return None };
        for op in (0..work.times.min(MOST)).flat_map(|_| work.ops.iter()) {
            name.push_str(match op {
                Op::K => "k1",
                Op::P => "p1",
                Op::Yo => "yo",
                _ => return None,
            });
        }
    }
    // Knit, over and knit in one has a name of its own.
    if name == "k1yok1" { "kyok" } else { &name }.parse().ok()
}
