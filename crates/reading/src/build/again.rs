//! Actions of rows that are worked again: which, how often, until when.

use super::*;

impl Builder<'_> {
    pub(super) fn again_action(&self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| said(kind, span);
        let rows_at = |nth: usize| self.rows_nth(parts, nth);
        match action {
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
            // "25th row, and every row after: knit two together, knit the rest, till three are left."
            "row_until" | "each_row_until" => {
                let choices = parts.iter().find_map(|part| match part {
                    Value::Choices(choices) => Some(Rc::clone(choices)),
                    _ => None,
                })?;
                let next = RowSet { span, ..RowSet::named(Which::Next(1)) };
                let told = StatementKind::Rows {
                    rows: if action == "row_until" { rows_at(0)? } else { next },
                    content: Content::Work(choices),
                    side: None,
                    count: None,
                };
                let told = Value::Chain(None, Rc::new(Statement { kind: told, span }));
                let (last, until) = (RowSet::named(Which::Last(1)), self.goal(parts.last()?));
                let again = StatementKind::Again(Again { rows: Some(last), until, ..Again::default() });
                one(Value::Chain(Some(Rc::new(told)), Rc::new(Statement { kind: again, span })))
            }
            // "Ten rounds of this in all", "work seven more of them".
            "last_in_all" | "last_more" => {
                let many = self.held(&parts[0])?;
                let printed = if action == "last_more" { many } else { many.checked_sub(1)? };
                let times = Some(AgainTimes { printed, more: true });
                let rows = Some(RowSet::named(Which::Last(1)));
                say(StatementKind::Again(Again { rows, times, ..Again::default() }))
            }
            "again_endless" => {
                say(StatementKind::Again(Again { endless: true, ..open_again(&parts[0])?.clone() }))
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
            "again_with" => parts.iter().find_map(|part| match part {
                Value::Statement(told) => match &told.kind {
                    StatementKind::Again(again) if again.rows.is_some() && again.until.is_none() => {
                        let before = again.times.map_or(1, |times| times.printed);
                        let times = Some(AgainTimes { printed: before.saturating_add(1), more: true });
                        say(StatementKind::Again(Again { times, ..again.clone() }))
                    }
                    _ => None,
                },
                _ => None,
            }),
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
                    Some(Which::Count(rows)) => (rows_at(0).filter(|_| rows_at(1).is_some()), Some(rows)),
                    Some(_) => return None,
                    None => (rows_at(0), self.numbers(last).0[0]),
                };
                say(StatementKind::Again(Again { rows, till, ..Again::default() }))
            }
            // "Rib in this way for twelve rows": those told are among them.
            "last_so_many" => match rows_at(0)?.which {
                Which::Count(rows) => {
                    say(StatementKind::GoOn(Onward { until: Some(Goal::Rows(rows)), ..Onward::default() }))
                }
                _ => None,
            },
            // "Every row is knitted like this one until there are twelve."
            "onward_to" => {
                let until = self.goal(parts.last()?)?;
                match rows_at(0).filter(|_| until != Goal::All) {
                    Some(rows) => {
                        let again = Again { rows: Some(rows), until: Some(until), ..Again::default() };
                        say(StatementKind::Again(again))
                    }
                    None => say(StatementKind::GoOn(Onward { until: Some(until), ..Onward::default() })),
                }
            }
            "again_until" | "again_from_until" => {
                let (until, from) = (self.goal(parts.last()?), action == "again_from_until");
                say(StatementKind::Again(Again { rows: rows_at(0), from, until, ..Again::default() }))
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
            _ => None,
        }
    }

    /// Whether the words under a span say "more"; the times of such an idiom already count the first.
    fn says_more(&self, span: Span) -> bool {
        self.leaves.iter().any(|leaf| span.covers(leaf.span) && leaf.terminal == self.marks.more)
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
