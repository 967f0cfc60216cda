//! Where a rib touches itself: across the channel between two panels.

use super::build::Builder;
use super::{LinkKind, RIGHT};

/// How many stitches wide a channel is that the panels of a rib can shut: over a wider one they do not reach.
const CHANNEL_LIMIT: usize = 3;

impl Builder<'_> {
    /// Keeps the columns on both sides of a narrow channel of the other face from lying closer than side by side: when
    /// a rib draws in, its panels shut the channel between them and touch.
    pub(super) fn contacts(&mut self) {
        for place in 0..self.mesh.len() {
            let Some(far) = self.beyond_channel(place).filter(|&far| far != place) else { continue };
            let rest = f64::midpoint(self.mesh.stitches[place].width, self.mesh.stitches[far].width);
            self.link(LinkKind::Contact, place, far, rest, self.fabric.stretch);
        }
    }

    /// The stitch of the same face on the other side of a channel at the right of a stitch.
    fn beyond_channel(&self, place: usize) -> Option<usize> {
        let against = |node: usize| self.mesh.stitches[node].face * self.mesh.stitches[place].face;
        let right = |node: &usize| self.mesh.neighbour(*node, RIGHT);
        let channel = std::iter::successors(right(&place), right).take(CHANNEL_LIMIT + 1);
        let far = channel.enumerate().find(|&(_, node)| against(node) >= 0);
        far.and_then(|(wide, node)| (wide > 0 && against(node) > 0).then_some(node))
    }
}
