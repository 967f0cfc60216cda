//! Actions of repeats that begin at instructions which words name, and of what the last repeat of a row is instead.

use super::*;
use crate::ast::FOR_THE_LAST;

impl Builder<'_> {
    pub(super) fn repeat_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let seq = |value: &Value| match value {
            Value::Seq(seq) => Some(seq.clone()),
            _ => None,
        };
        match action {
            "last_repeat_to" => {
                let last = parts.iter().find_map(|part| {
                    self.leaf(part)
                        .filter(|leaf| leaf.terminal == self.marks.when_last)
                        .and(self.numbers(part).0[0])
                })?;
                let (tail, before) = parts.split_last()?;
                let seqs: Vec<Seq> = before.iter().filter_map(seq).collect();
                let round = seqs.last()?.open_group()?.items();
                let plain = |item: &Item| matches!(item, Item::Work(work) if *work.ops == [Op::K] && work.times == last);
                let to = round.iter().rposition(plain)?;
                let cut = Seq::of(round[..=to].iter().cloned())?;
                let (cost, all) = self.joined(seqs.into_iter().chain([cut]).chain(seq(tail)))?;
                Some(vec![(cost, Value::Seq(all))])
            }
            // "At the end of the last repeat, instead of taking three together, slip one, knit one, pass it over."
            "last_repeat_ends" => {
                let (tail, before) = parts.split_last()?;
                let taken = self.held(before.last()?)?;
                let seqs: Vec<Seq> = before.iter().filter_map(seq).collect();
                let mut round = seqs.last()?.open_group()?.items();
                let last =
                    round.pop().filter(|item| matches!(item, Item::Work(work) if work.sum().takes == taken));
                let cut = last.and(Seq::of(round))?;
                let (cost, all) = self.joined(seqs.into_iter().chain([cut]).chain(seq(tail)))?;
                Some(vec![(cost, Value::Seq(all))])
            }
            // "Repeat from *, ending the last repeat with knit two instead of knit four."
            "last_repeat_changed" => {
                let (old, before) = parts.split_last()?;
                let seqs: Vec<Seq> = before.iter().filter_map(seq).collect();
                let (new, before) = seqs.split_last()?;
                let mut round = before.last()?.open_group()?.items();
                let old = self.work_of(old)?;
                let last = round.pop().filter(|item| matches!(item, Item::Work(work) if work.is_same(&old)));
                let cut = last.and(Seq::of(round))?;
                let (cost, all) = self.joined(before.iter().cloned().chain([cut, new.clone()]))?;
                Some(vec![(cost, Value::Seq(all))])
            }
            // "Repeat from *, ending with knit two together", where the repeat itself ends with three together.
            "last_repeat_swapped" => {
                let seqs: Vec<Seq> = parts.iter().filter_map(seq).collect();
                let (new, before) = seqs.split_last()?;
                let mut round = before.last()?.open_group()?.items();
                round.pop().filter(|last| new.stands_for(last))?;
                let (cost, all) =
                    self.joined(before.iter().cloned().chain([Seq::of(round)?, new.clone()]))?;
                Some(vec![(cost + FOR_THE_LAST, Value::Seq(all))])
            }
            // "Repeat, but knit four the last time": where each repeat ends in fewer, the others follow the last.
            "last_time" => {
                let last = self.held(parts.last()?)?;
                let (_, all) = self.joined(parts.iter().filter_map(seq))?;
                let Some(Item::Work(work)) = all.open_group()?.items().pop() else { return None };
                let more = last.checked_sub(work.times).filter(|_| *work.ops == [Op::K])?;
                let over = Seq::one(self.single(Op::K, more, self.span(parts.last()?)));
                one(Value::Seq(if more > 0 { all.and(&over) } else { all }))
            }
            // "Purl eight, knit three, purl seven; repeat the knit three and purl seven."
            "again_named" => {
                let (all, named) = (seq(&parts[0])?, seq(&parts[2])?.items());
                let mut head = all.items();
                let begin = head.len().checked_sub(named.len()).filter(|begin| *begin > 0)?;
                let body = head.split_off(begin);
                let body = body
                    .iter()
                    .zip(&named)
                    .all(|(one, other)| one.is_same_work(other))
                    .then(|| Seq::of(body))??;
                if !body.shape().open.is_empty() || body.once_only() {
                    return None;
                }
                let again = Seq::one(Item::Group { body, until: Until::End, span: self.spans(&parts[1..]) });
                one(Value::Seq(Seq::of(head)?.and(&again)))
            }
            "from_item" => {
                let (all, anchor) = (seq(&parts[0])?, seq(&parts[3])?);
                let built = from_item(&all, anchor.items().first()?, self.spans(&parts[1..]));
                (!built.is_empty()).then_some(built)
            }
            _ => None,
        }
    }
}

/// Instructions of which the last are repeated, from one that is named.
fn from_item(all: &Seq, anchor: &Item, span: Span) -> Vec<(f64, Value)> {
    /// Nats against each instruction of the same words that is passed over to the one meant.
    const NOT_THE_FIRST: f64 = 0.8;
    let items = all.items();
    // "From the first P" tells no number.
    let uncounted = |item: &Item| match (item, anchor) {
        (Item::Work(one), Item::Work(other)) => {
            one.ops == other.ops && other.number.is_none() && other.times == 1
        }
        _ => false,
    };
    let same = |item: &Item| item.is_same_work(anchor) || uncounted(item);
    let begin = |at: usize| {
        let body = Seq::of(items[at..].iter().cloned())
            .filter(|body| body.shape().open.is_empty() && !body.once_only())?;
        let group = Seq::one(Item::Group { body, until: Until::End, span });
        let head = Seq::of(items[..at].iter().cloned());
        Some(Value::Seq(head.map_or_else(|| group.clone(), |head| head.and(&group))))
    };
    let places = (0..items.len()).filter(|at| same(&items[*at])).enumerate();
    places.filter_map(|(nth, at)| Some((NOT_THE_FIRST * nth as f64, begin(at)?))).collect()
}
