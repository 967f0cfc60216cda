//! Actions whose value is rows told by others: the same, or with something changed.
//!
//! Knows which rows are named and what is said to differ; what those rows are is found by `plan`.

use super::*;

/// Rows told by others: the side that the text names, and the words.
struct Told {
    side: Option<Side>,
    span: Span,
}

impl Told {
    fn of(&self, rows: RowSet, content: Content, count: Option<(u32, Span)>) -> Option<Built> {
        let kind = StatementKind::Rows { rows, content, side: self.side, count };
        one(Value::Statement(Rc::new(Statement { kind, span: self.span })))
    }
}

impl Builder<'_> {
    /// A row whose stitches are worked by what they were in the row before.
    fn as_seen(&self, told: &Value) -> Content {
        Content::Work(Rc::new(vec![(0.0, self.seen(told))]))
    }

    pub(super) fn like_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let told = Told { side: self.side(parts), span: self.spans(parts) };
        let rows_at = |nth: usize| parts.iter().filter_map(|part| self.rows(part)).nth(nth);
        match action {
            // "Purl one row, and repeat these two": the one row is purled.
            "like" | "like_after" | "like_often" if self.is_counted_by_verb(&parts[0]) => None,
            "like" | "like_after" | "like_often" | "told_like" => {
                let count = self.stated_last(parts).filter(|_| matches!(action, "like" | "like_after"));
                told.of(rows_at(0)?, Content::Like(Some(rows_at(1)?)), count)
            }
            // "The third resembles the first; the fourth, the second."
            "like_two" => {
                let like = |row: RowSet, other: RowSet| {
                    let content = Content::Like(Some(other));
                    let kind = StatementKind::Rows { rows: row, content, side: None, count: None };
                    Rc::new(Statement { kind, span: told.span })
                };
                let first = Value::Chain(None, like(rows_at(0)?, rows_at(1)?));
                one(Value::Chain(Some(Rc::new(first)), like(rows_at(2)?, rows_at(3)?)))
            }
            // "Fourth row: the same as the second, as is also every even row."
            "like_and_all" => {
                let like = |row: RowSet| {
                    let content = Content::Like(rows_at(1));
                    let kind = StatementKind::Rows { rows: row, content, side: None, count: None };
                    Rc::new(Statement { kind, span: told.span })
                };
                let own = Value::Chain(None, like(rows_at(0)?));
                one(Value::Chain(Some(Rc::new(own)), like(rows_at(2)?)))
            }
            "like_before" => told.of(rows_at(0)?, Content::Like(None), None),
            // "Do the same in the next row", "… for the next four rows".
            "done_again" => {
                let named = rows_at(0)?;
                let of = match named.which {
                    Which::Next(n) | Which::Count(n) => RowSet::named(Which::Last(n)),
                    Which::Numbers(ref numbers) => {
                        RowSet::named(Which::Last(u32::try_from(numbers.len()).ok()?))
                    }
                    _ => return None,
                };
                told.of(named, Content::Like(Some(of)), None)
            }
            // "As the first, but slip the knitted stitches and knit the slipped ones."
            "seen_instead" => told.of(rows_at(0)?, self.as_seen(parts.last()?), None),
            // "In the following rounds purl the slipped stitches."
            "seen_further" => {
                let further = rows_at(0).filter(|rows| rows.which == Which::Every)?;
                told.of(further, self.as_seen(parts.last()?), None)
            }
            "like_counted" => told.of(rows_at(0)?, Content::LikeCounted, None),
            "like_rib_count" => {
                let rows = parts.iter().find_map(|part| self.held(part))?;
                told.of(RowSet::named(Which::Count(rows)), Content::LikeRib, None)
            }
            "like_rib" => told.of(rows_at(0)?, Content::LikeRib, None),
            "like_first" => match rows_at(0)?.which {
                Which::Count(n) | Which::Next(n) => {
                    let first = RowSet { which: Which::First(n), ..rows_at(0)? };
                    told.of(rows_at(0)?, Content::Like(Some(first)), None)
                }
                // "17th to 20th row: as the first border."
                Which::Numbers(numbers) if numbers.len() > 1 && !self.names_the_first(parts.last()?) => {
                    let first = RowSet::named(Which::First(u32::try_from(numbers.len()).ok()?));
                    told.of(rows_at(0)?, Content::Like(Some(first)), None)
                }
                _ => None,
            },
            "recoloured" if !rows_at(0)?.explicit => None,
            "recoloured" => told.of(rows_at(0)?, Content::Recoloured, None),
            "row_by_name" => {
                let named = rows_at(0).filter(|rows| matches!(rows.which, Which::Called(_)))?;
                told.of(named.clone(), Content::Like(Some(named)), None)
            }
            // "2nd to 5th row: every row the same as the 1st."
            "like_each_of" => {
                rows_at(1).filter(|rows| rows.which == Which::Every)?;
                told.of(rows_at(0)?, Content::Like(Some(rows_at(2)?)), None)
            }
            // "23d row: Another cable row."
            "like_called" => {
                let named = rows_at(1).filter(|rows| matches!(rows.which, Which::Called(_)))?;
                told.of(rows_at(0)?, Content::Like(Some(named)), None)
            }
            "reversed_before" => told.of(rows_at(0)?, Content::Swapped(RowSet::named(Which::Last(1))), None),
            "like_but_last" => {
                let other = parts.last()?;
                let last = self.last(Op::P, other)?;
                let last = Rc::new(vec![(0.0, Seq::one(Item::Work(last)))]);
                let change = Change { told: last, at: Differs::LastOf };
                told.of(rows_at(0)?, Content::LikeBut(rows_at(1), Rc::from([change])), None)
            }
            "swapped" => told.of(rows_at(0)?, Content::Swapped(rows_at(1)?), None),
            "like_but" | "like_but_first" | "like_but_instead" | "like_but_of" => {
                let at = match action {
                    "like_but" => Differs::AtLast,
                    "like_but_first" => Differs::AtFirst,
                    "like_but_instead" => Differs::Instead(self.held(parts.last()?)?),
                    _ => Differs::Instead(self.work_of(parts.last()?)?.times),
                };
                let change = Change { told: told_last(parts)?, at };
                told.of(rows_at(0)?, Content::LikeBut(rows_at(1), Rc::from([change])), None)
            }
            "next_after" | "next_before" | "next_before_over" | "next_begin" | "next_end" => {
                one(Value::Differs(self.next_to(action, parts)?, told.span))
            }
            "change" => one(Value::Changes(Rc::from([self.change(parts)?]), told.span)),
            "both_changes" => {
                let each = parts.iter().filter_map(changes_told).flat_map(|changes| changes.iter().cloned());
                one(Value::Changes(each.collect(), told.span))
            }
            // "As the first, but with nine after the slipped stitch, and ten at the end."
            "like_changed" => {
                let changes = Rc::clone(parts.iter().find_map(changes_told)?);
                told.of(rows_at(0)?, Content::LikeBut(rows_at(1), changes), None)
            }
            // "Decrease again in the same way."
            "like_deed" => {
                let narrows = self.numbers(parts.last()?).0[0] == Some(2);
                let deed = if narrows { Deed::Narrows } else { Deed::Widens };
                told.of(rows_at(0)?, Content::LikeNamed(deed), None)
            }
            "like_times" => {
                let times = parts.iter().find_map(|part| match part {
                    Value::Until(Until::Times(times), _) => Some(*times),
                    _ => None,
                })?;
                told.of(rows_at(0)?, Content::LikeTimes(rows_at(1)?, times), None)
            }
            // "As the fifth, but there will now be four holes."
            "like_so_many" => {
                told.of(rows_at(0)?, Content::LikeTimes(rows_at(1)?, self.held(&parts[3])?), None)
            }
            "like_crossed" => told.of(rows_at(0)?, Content::LikeCrossed(rows_at(1)?), None),
            "like_with" | "steady_with" => {
                let with = parts.iter().find(|part| {
                    self.leaf(part).is_some_and(|leaf| leaf.terminal == self.marks.with_number)
                })?;
                let named = rows_at(0)?;
                // "15th and 16th, like the last two, with 16. 17th and 18th, the same, with 18."
                let last = |n: u32| RowSet::named(Which::Last(n));
                let like = rows_at(1).or_else(|| named.several().filter(|_| action == "like_with").map(last));
                let own = if action == "steady_with" { Model::Steady } else { Model::Shaped };
                let model = like.map_or(own, Model::Rows);
                told.of(named, Content::LikeWith(model, self.held(with)?, self.numbers(with).0[1]), None)
            }
            // "5th to 10th round: like the last two, but each time one more between."
            "like_with_more" | "like_with_less" => {
                let by = self.numbers(parts.last()?).0[0].and_then(|by| i32::try_from(by).ok())?;
                let Which::Numbers(numbers) = rows_at(0)?.which else { return None };
                let to_row = numbers.last().copied();
                let step = Some(if action == "like_with_more" { by } else { by.checked_neg()? });
                said(StatementKind::GoOn(Onward { step, to_row, ..Onward::default() }), told.span)
            }
            // "As the first as far as the first knit two together; knit nine."
            "like_up_to" | "like_up_to_star" => {
                let stop = match parts {
                    [_, _, _, nth, anchor, _] if action == "like_up_to" => {
                        Stop::Through(self.held(nth)?, *self.work_of(anchor)?.ops.first()?)
                    }
                    _ => Stop::Star,
                };
                told.of(rows_at(0)?, Content::UpTo(rows_at(1)?, stop, told_last(parts)?), None)
            }
            // "As the fourth, but five in the sixth round, and seven in the eighth."
            "like_each" => {
                let of = rows_at(1)?;
                let instead = parts.last().and_then(|last| self.held(last));
                let differs = instead.map_or(Differs::AtLast, Differs::Instead);
                let rows = parts.iter().filter_map(rows_told).map(|(rows, content)| {
                    let Content::Work(choices) = content else { return None };
                    let change = Change { told: Rc::clone(choices), at: differs.clone() };
                    let content = Content::LikeBut(Some(of.clone()), Rc::from([change]));
                    let kind = StatementKind::Rows { rows: rows.clone(), content, side: None, count: None };
                    Some(Rc::new(Statement { kind, span: told.span }))
                });
                let chain = rows
                    .collect::<Option<Vec<_>>>()?
                    .into_iter()
                    .fold(None, |chain, row| Some(Rc::new(Value::Chain(chain, row))))?;
                one((*chain).clone())
            }
            // "Edge; knit nine; edge."
            "edged_first" | "edged_last" | "edged" => {
                let stitches = parts.iter().skip(1).find_map(|part| self.held(part));
                let (first, last) = (action != "edged_last", action != "edged_first");
                let edges = EdgesNamed { stitches, first, last };
                told.of(rows_at(0)?, Content::Edged(edges, told_last(parts)?), None)
            }
            "each_work" => told.of(rows_at(0)?, Content::Work(told_last(parts)?), None),
            "each_number" => {
                let plain = self.single(Op::K, self.held(parts.last()?)?, told.span);
                told.of(rows_at(0)?, Content::Work(Rc::new(vec![(0.0, Seq::one(plain))])), None)
            }
            "like_ends" => {
                let (named, Content::Like(Some(of))) = rows_told(&parts[0])? else { return None };
                let [first, last] = self.numbers(&parts[1]).0;
                let plain = [first?, last?];
                let fits = plain.iter().all(|plain| *plain <= TIMES_LIMIT);
                fits.then(|| told.of(named.clone(), Content::LikeEnds(of.clone(), plain), None)).flatten()
            }
            "from_star" => {
                told.of(rows_at(0)?, Content::FromStar(told_last(parts)?, rows_at(1)?, None), None)
            }
            // "Knit seven, narrow as before, with one only between, knit seven."
            "narrowed_so" => {
                let mut rows = all_told(parts);
                let content = Content::NarrowedSo(rows.next()?, self.held(&parts[2])?, rows.next()?);
                told.of(rows_at(0)?, content, None)
            }
            // "Cast off five, and work the rest as in the second row."
            "rest_as" => told.of(rows_at(0)?, Content::RestAs(told_last(parts)?, Some(rows_at(1)?)), None),
            "rest_as_before" => told.of(rows_at(0)?, Content::RestAs(told_last(parts)?, None), None),
            "from_star_to" => {
                let (named, Content::FromStar(begun, of, _)) = rows_told(&parts[0])? else { return None };
                let plain = self.held(&parts[1])?;
                let content = Content::FromStar(Rc::clone(begun), of.clone(), Some(plain));
                told.of(named.clone(), content, None)
            }
            "in_series" => told.of(rows_at(0)?, Content::InSeries, None),
            // "In the same way increase in the 17th and again in the 20th round."
            "in_series_both" => {
                let (first, last) = (self.held(&parts[0])?, rows_at(0)?);
                let Which::Numbers(others) = &last.which else { return None };
                let which = Which::Numbers([first].iter().chain(others).copied().collect());
                told.of(RowSet { which, ..last.clone() }, Content::InSeries, None)
            }
            // "Decrease in every round, first with four between, then with three."
            "shaped_with" => {
                let with = Content::LikeWith(Model::Shaped, self.numbers(parts.last()?).0[0]?, None);
                let next = RowSet { span: self.span(parts.last()?), ..RowSet::named(Which::Next(1)) };
                let kind = StatementKind::Rows { rows: next, content: with, side: None, count: None };
                let row = Rc::new(Statement { kind, span: self.span(parts.last()?) });
                one(match &parts[0] {
                    before @ Value::Chain(..) => Value::Chain(Some(Rc::new(before.clone())), row),
                    _ => Value::Chain(None, row),
                })
            }
            _ => None,
        }
    }

    /// Whether a phrase for the beginning may name the first row: "as the first".
    fn names_the_first(&self, value: &Value) -> bool {
        self.numbers(value).0[0] == Some(1)
    }

    /// "Three plain after the first two together", "nine at the end": where a row differs from another.
    fn next_to(&self, action: &str, parts: &[Value]) -> Option<Differs> {
        let named = self.numbers(&parts[0]).0[0];
        let last_when_none = named.filter(|nth| *nth > 0);
        match action {
            "next_after" => Some(Differs::After(named?, self.anchor(parts.last()?)?)),
            "next_before" => Some(Differs::Before(last_when_none, self.anchor(parts.last()?)?)),
            "next_before_over" => Some(Differs::Before(last_when_none, Rc::from([Op::Yo]))),
            "next_begin" => Some(Differs::AtFirst),
            "next_end" => Some(Differs::AtLast),
            _ => None,
        }
    }

    /// What a stitch is called by that something stands next to.
    fn anchor(&self, value: &Value) -> Option<Rc<[Op]>> {
        match self.leaf(value)?.terminal {
            terminal if terminal == self.marks.slipped_one => Some(Rc::from([Op::Slp])),
            terminal if terminal == self.marks.made_one => Some(Rc::from([Op::Yo])),
            _ => Some(self.work_of(value)?.ops),
        }
    }

    /// "Nine after the slipped stitch": what is worked there; a bare number is of plain stitches.
    fn change(&self, parts: &[Value]) -> Option<Change> {
        let at = parts.iter().find_map(|part| match part {
            Value::Differs(at, _) => Some(at.clone()),
            _ => None,
        })?;
        let told = told_last(parts).or_else(|| {
            let many = parts.iter().find_map(|part| self.held(part))?;
            Some(Rc::new(vec![(0.0, Seq::one(self.single(Op::K, many, self.spans(parts))))]))
        })?;
        let once = told.iter().all(|(_, seq)| seq.items().len() == 1);
        once.then_some(Change { told, at })
    }

    /// The one thing that a phrase for stitches tells.
    pub(super) fn work_of(&self, value: &Value) -> Option<Work> {
        let Value::Seq(seq) = self.stitch(value)?.pop()?.1 else { return None };
        match seq.first()? {
            Item::Work(work) => Some(work.clone()),
            _ => None,
        }
    }

    /// The count that stands last, if the text states one.
    pub(super) fn stated_last(&self, parts: &[Value]) -> Option<(u32, Span)> {
        let (numbers, number) = self.numbers(parts.last()?);
        Some((numbers[0]?, number?))
    }
}

/// In what a row differs from another.
fn changes_told(value: &Value) -> Option<&Rc<[Change]>> {
    if let Value::Changes(changes, _) = value { Some(changes) } else { None }
}

/// Rows that a statement tells.
pub(super) fn rows_told(value: &Value) -> Option<(&RowSet, &Content)> {
    let Value::Statement(statement) = value else { return None };
    match &statement.kind {
        StatementKind::Rows { rows, content, .. } => Some((rows, content)),
        _ => None,
    }
}
