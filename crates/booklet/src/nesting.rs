//! Refuses drawings nested so deeply that reading them would exhaust the stack.
//!
//! The SVG reader calls itself for every level, both for elements inside elements and for elements that refer
//! to others. So two things are measured here without reading the drawing: how deep its tags stand, and how
//! long the longest chain of references is (an element refers to one that holds a reference to a third). The
//! two limits together allow some 300 levels, which fit on a stack of 2 MB in an unoptimised build; 1,000 were
//! seen to overflow it. Whether the SVG is right is left to its reader.

use std::collections::HashMap;

/// Levels of tags; a chart needs about five.
const DEPTH_LIMIT: usize = 40;
/// References in a chain; a chart needs one.
const CHAIN_LIMIT: usize = 8;

/// Says what is too deep about the drawing, if anything is.
pub(crate) fn too_deep(svg: &str) -> Option<&'static str> {
    if svg.contains("<!ENTITY") {
        return Some("it defines entities");
    }
    if style_sheets(svg).any(|sheet| sheet.contains("url(")) {
        return Some("its style sheet refers to elements");
    }
    let mut held: HashMap<&str, Vec<&str>> = HashMap::new();
    let mut open: Vec<Option<&str>> = Vec::new();
    for tag in Tags(svg) {
        if tag.starts_with('/') {
            open.pop();
            continue;
        }
        open.push(id(tag));
        if open.len() > DEPTH_LIMIT {
            return Some("its elements are nested too deeply");
        }
        for target in targets(tag) {
            if target.contains('&') {
                return Some("it refers to elements by escaped names");
            }
            open.iter().flatten().for_each(|id| held.entry(id).or_default().push(target));
        }
        if tag.ends_with('/') {
            open.pop();
        }
    }
    let mut lengths = HashMap::new();
    let chained = held.keys().any(|id| chain(id, &held, &mut lengths, CHAIN_LIMIT).is_none());
    chained.then_some("its references are nested too deeply")
}

/// References in the longest chain that starts in an element, or nothing when there are more than allowed; a
/// circle counts as endless.
fn chain<'a>(
    id: &'a str,
    held: &HashMap<&'a str, Vec<&'a str>>,
    lengths: &mut HashMap<&'a str, usize>,
    allowed: usize,
) -> Option<usize> {
    let length = match lengths.get(id) {
        Some(&known) => known,
        None => {
            let mut longest = 0;
            for target in held.get(id).into_iter().flatten() {
                longest = longest.max(1 + chain(target, held, lengths, allowed.checked_sub(1)?)?);
            }
            lengths.insert(id, longest);
            longest
        }
    };
    (length <= allowed).then_some(length)
}

/// The texts between `<style …>` and `</style>`.
fn style_sheets(svg: &str) -> impl Iterator<Item = &str> {
    svg.split("<style").skip(1).map(|rest| rest.split("</style").next().unwrap_or(rest))
}

/// The value of a tag's `id`.
fn id(tag: &str) -> Option<&str> {
    tag.match_indices("id").find_map(|(at, name)| {
        let (before, after) = (&tag[..at], tag[at + name.len()..].trim_start());
        let value = after.strip_prefix('=')?.trim_start();
        let quote = value.chars().next().filter(|&ch| ch == '"' || ch == '\'')?;
        before.ends_with(char::is_whitespace).then(|| value[1..].split(quote).next().unwrap_or(""))
    })
}

/// Every name after a `#`: the targets of references, and colours, which do no harm.
fn targets(tag: &str) -> impl Iterator<Item = &str> {
    let ends = |ch: char| ch.is_whitespace() || "\"')".contains(ch);
    tag.split('#').skip(1).map(move |rest| rest.split(ends).next().unwrap_or(rest))
}

/// The tags of a document, without their angle brackets; comments and instructions are passed over.
struct Tags<'a>(&'a str);

impl<'a> Iterator for Tags<'a> {
    type Item = &'a str;

    fn next(&mut self) -> Option<&'a str> {
        const PASSED: [(&str, &str); 4] = [("!--", "-->"), ("![CDATA[", "]]>"), ("?", "?>"), ("!", ">")];
        loop {
            let rest = &self.0[self.0.find('<')? + 1..];
            let passed = PASSED.iter().find(|(start, _)| rest.starts_with(start));
            let Some((_, end)) = passed else {
                let end = tag_end(rest);
                self.0 = &rest[end..];
                return Some(&rest[..end]);
            };
            self.0 = &rest[rest.find(end)? + end.len()..];
        }
    }
}

/// Where the tag ends; a `>` inside quotes does not end it.
fn tag_end(tag: &str) -> usize {
    let mut quote = None;
    for (at, ch) in tag.char_indices() {
        match quote {
            Some(open) if ch == open => quote = None,
            Some(_) => {}
            None if ch == '>' => return at,
            None if ch == '"' || ch == '\'' => quote = Some(ch),
            None => {}
        }
    }
    tag.len()
}

#[cfg(test)]
mod tests {
    use super::{CHAIN_LIMIT, DEPTH_LIMIT, Tags, too_deep};

    #[test]
    fn tags_are_found_between_everything_else() {
        let svg =
            "<?xml version='1.0'?><!DOCTYPE svg><svg a='>'><!-- <g> --><g/>text<![CDATA[<g>]]></svg> <br";
        assert_eq!(Tags(svg).collect::<Vec<_>>(), ["svg a='>'", "g/", "/svg", "br"]);
    }

    #[test]
    fn depth_is_limited_and_length_is_not() {
        let nested = |levels: usize| format!("{}<path/>{}", "<g>".repeat(levels), "</g>".repeat(levels));
        assert_eq!(too_deep(&nested(DEPTH_LIMIT - 1)), None);
        assert!(too_deep(&nested(DEPTH_LIMIT)).is_some());
        assert_eq!(too_deep(&nested(3).repeat(1_000)), None);
    }

    #[test]
    fn symbols_may_be_used_often_but_not_in_long_chains() {
        let uses = "<use id='u' width='9' href='#o' fill='#fff'/>".repeat(1_000);
        let chart = format!("<svg id='chart' width='9'><symbol id='o'><path/></symbol>{uses}</svg>");
        assert_eq!(too_deep(&chart), None);
        let link = |at: usize| format!("<g x='1' id = \"a{at}\"><use href='#a{}'/></g>", at + 1);
        let chain = |links: usize| (0..links).map(link).collect::<String>();
        assert_eq!(too_deep(&chain(CHAIN_LIMIT)), None);
        assert!(too_deep(&chain(CHAIN_LIMIT + 1)).is_some());
    }

    #[test]
    fn hidden_references_are_refused() {
        for svg in [
            "<!DOCTYPE svg [<!ENTITY a '<g></g>'>]><svg/>",
            "<svg><style>g { mask: url(#m) }</style></svg>",
            "<svg><g id='a'><use href='#&#97;'/></g></svg>",
            "<svg><g id='a'><use href='#a'/></g></svg>",
            "<svg><mask id='m'><g mask='url(#n)'/></mask><mask id='n'><g mask=\"url( #m )\"/></mask></svg>",
        ] {
            assert!(too_deep(svg).is_some(), "{svg}");
        }
        assert_eq!(too_deep("<svg><style>g { fill: red }</style><g fill='#abc'/></svg>"), None);
    }
}
