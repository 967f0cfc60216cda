//! Actions of casting on: what is said of the number, bit by bit.

use super::*;

impl Builder<'_> {
    pub(super) fn cast_on_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let say = |cast_on: CastOn| {
            one(Value::Statement(Rc::new(Statement { kind: StatementKind::CastOn(cast_on), span })))
        };
        let before = |value: &Value| match value {
            Value::Statement(statement) => match &statement.kind {
                StatementKind::CastOn(cast_on) => Some(cast_on.clone()),
                _ => None,
            },
            _ => None,
        };
        match action {
            "cast_on" | "cast_many" => {
                let (numbers, number) = self.numbers(parts.last()?);
                say(CastOn { count: numbers[0], count_span: number, ..CastOn::default() })
            }
            "cast_alone" => {
                self.numbers(&parts[0]).0[0]?;
                let mut cast_on = CastOn { only_numbers: true, ..CastOn::default() };
                self.cast_bit(&mut cast_on, &parts[0]);
                say(cast_on)
            }
            // "On three needles: 16--16--20."
            "cast_listed" => {
                let mut cast_on = before(&parts[0])?;
                cast_on.needles = parts[1..].iter().filter_map(|part| self.numbers(part).0[0]).collect();
                cast_on.round = true;
                let listed = cast_on.needles.iter().try_fold(0u32, |sum, many| sum.checked_add(*many));
                (listed == cast_on.count).then(|| say(cast_on)).flatten()
            }
            "cast_by_needle" => {
                let needles: Vec<u32> = parts.iter().filter_map(|part| self.held(part)).collect();
                say(CastOn { needles, round: true, ..CastOn::default() })
            }
            "cast_word" => say(before(&parts[0])?),
            "cast_bit" | "cast_bit_later" => {
                let mut cast_on = before(&parts[0])?;
                let bit = parts.last()?;
                // "And two more" is of something else where a whole sentence lies between, unless a multiple is told.
                let later = action == "cast_bit_later" && cast_on.of.is_none() && cast_on.count.is_some();
                let terminal = self.leaf(bit).map(|leaf| leaf.terminal);
                let bare = self.numbers(bit).0[0].is_none() && terminal == Some(self.marks.each_needle);
                if later && terminal == Some(self.marks.plus) || action == "cast_bit_later" && bare {
                    return None;
                }
                self.cast_bit(&mut cast_on, bit);
                say(cast_on)
            }
            _ => None,
        }
    }

    fn cast_bit(&self, cast_on: &mut CastOn, bit: &Value) {
        let Some(leaf) = self.leaf(bit) else { return };
        let ([n, m], number) = self.numbers(bit);
        let marks = self.marks;
        if leaf.terminal == marks.divided {
            (cast_on.count, cast_on.count_span, cast_on.divided) = (n, number, m);
            cast_on.round = true;
        } else if leaf.terminal == marks.div || leaf.terminal == marks.per_pattern {
            cast_on.of = n;
            cast_on.of_span = number;
        } else if leaf.terminal == marks.plus {
            cast_on.plus += n.unwrap_or(0);
        } else if leaf.terminal == marks.plus_each {
            cast_on.plus += 2 * n.unwrap_or(0);
        } else if leaf.terminal == marks.even {
            cast_on.of = cast_on.of.or(Some(2));
            cast_on.of_span = cast_on.of_span.or(Some(leaf.span));
        } else if leaf.terminal == marks.uneven {
            (cast_on.of, cast_on.plus) = (Some(2), 1);
            cast_on.of_span = Some(leaf.span);
        } else if leaf.terminal == marks.specimen {
            (cast_on.count, cast_on.count_span) = (cast_on.count.or(n), cast_on.count_span.or(number));
        } else if leaf.terminal == marks.per_needle {
            cast_on.per_needle = n;
            cast_on.round = true;
        } else if leaf.terminal == marks.each_needle {
            let several = m.filter(|m| (1..=MOST as u32).contains(m)).unwrap_or(1);
            cast_on.needles.extend(n.into_iter().flat_map(|n| (0..several).map(move |_| n)));
            cast_on.each_alike = m.is_none() && self.says_each(leaf.span);
            cast_on.round = true;
        } else if leaf.terminal == marks.round {
            cast_on.round = true;
            cast_on.divided = n.or(cast_on.divided);
        }
    }
}
