//! Actions of growing and shrinking: what is worked where, in which rows, until when.
//!
//! Knows nothing of the rows that come of it.

use super::spread::{increase_told, place_told};
use super::*;

impl Builder<'_> {
    pub(super) fn shaping_action(&self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |kind: StatementKind| said(kind, span);
        let rows_at = |nth: usize| self.rows_nth(parts, nth);
        match action {
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
            "shape_onward" => {
                let Value::Statement(statement) = parts.last()? else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                say(StatementKind::Shaping(Shaping { goes_on: true, ..shaping }))
            }
            "shape_first" => {
                let bare = Shaping { place: Some(Place::Begin), ..Shaping::of(Op::K2tog, 1) };
                say(StatementKind::Shaping(bare))
            }
            "shape_how" | "shape_at" | "shape_every" | "shape_between" | "shape_next" | "shape_until"
            | "shape_within" | "shape_times" | "shape_smooth" | "shape_done" | "shape_on_face"
            | "shape_after_first" | "shape_inside_both" | "shape_at_once" | "shape_to_plain"
            | "shape_before_last" => {
                let (told, bit) = match parts {
                    [one @ Value::Statement(_), _, bit] => (one, bit),
                    [one @ Value::Statement(_), bit] | [bit, one @ Value::Statement(_)] => (one, bit),
                    // "Every row plain, narrowing …", "knit four rows, making one …".
                    [others @ .., one @ Value::Statement(_)] => {
                        (one, others.iter().find(|part| self.rows(part).is_some()).or(others.last())?)
                    }
                    _ => return None,
                };
                let Value::Statement(statement) = told else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                // "Knit one row plain. Increase one at each end": of the rows of another sentence nothing is said.
                let at = self.token_at(statement.span);
                let apart = self.tokens.get(at).is_some_and(|token| token.gap >= Gap::Period);
                let counted = self.rows(bit).is_some_and(|rows| matches!(rows.which, Which::Count(_)));
                let before = parts.last().is_some_and(|last| matches!(last, Value::Statement(_)));
                if counted && apart && before {
                    return None;
                }
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
            // "Ten rows, each of them beginning with two together."
            "shape_begun" => {
                let Value::Statement(statement) = parts.last()? else { return None };
                let StatementKind::Shaping(shaping) = statement.kind else { return None };
                let rows = parts.iter().find(|part| self.rows(part).is_some())?;
                let begun = Shaping { place: Some(Place::Begin), ..shaping };
                say(StatementKind::Shaping(self.shape_bit("shape_every", begun, rows)?))
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
            // "Knit eight rows, increasing at the beginning of the third and seventh": of the rows just told.
            "shaped_in" => {
                let told = parts.iter().find_map(|part| match part {
                    Value::Statement(statement) => match statement.kind {
                        StatementKind::Shaping(told) => Some(told),
                        _ => None,
                    },
                    _ => None,
                })?;
                let named = rows_at(0).filter(|rows| matches!(rows.which, Which::Numbers(_)))?;
                let bare = told.every.is_none() && told.times.is_none() && told.until.is_none();
                // "Narrow at the end of every other row, thus: 2nd row": rows told behind it are others.
                let behind = self.gap_before(named.span) >= Gap::Colon;
                let placed = told.place.is_some() || !matches!(told.op, Op::Bo | Op::Co);
                (bare && placed && !behind)
                    .then(|| say(StatementKind::Spread(Some(named), Rc::from(told.acts()))))
                    .flatten()
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
                let place = told.place.or(place_told(number));
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
            "shape_next" if told.every.is_none() => {
                let times = number.unwrap_or(1);
                Shaping { every: Some(1), times: Some(times).filter(|times| *times <= TIMES_LIMIT), ..told }
            }
            // "In the next rows … until only 14 are left" is more than one row.
            "shape_until" if told.until.is_none() => {
                let times = told.times.filter(|times| *times > 1);
                Shaping { until: Some(self.goal(bit)?), times, ..told }
            }
            "shape_between" if told.every.is_none() => {
                Shaping { every: Some(number.filter(|rows| *rows <= TIMES_LIMIT)? + 1), ..told }
            }
            "shape_to_plain" if told.goes_on => Shaping { ends_plain: true, ..told },
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
            "shape_before_last" => {
                let place = told.place.or(Some(Place::End));
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
}
