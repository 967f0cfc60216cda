//! The small changes that a project is made of, each with the changes that take it back.
//!
//! Knows nothing of storage. A change that does not fit the project is refused and leaves it as it was.

use serde::{Deserialize, Serialize};
use span::Span;

use crate::ids::PageId;
use crate::project::{
    Country, Gauge, Page, Project, Ruling, check_count, check_gauge, check_line, check_ruling, check_text,
};
use crate::splice::Splice;

/// One change of a project.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Change {
    /// Replaces words of the transcription. Rulings move with their words; one whose words are touched is dropped.
    Text(Splice),
    /// Replaces words of the book's own explanation of its terms.
    Glossary(Splice),
    /// Sets one of the single values.
    Set(Setting),
    /// Answers a question that holds for the whole text, or takes the answer back.
    Answer {
        /// The question.
        question: String,
        /// The answer; nothing leaves the question open again.
        answer: Option<String>,
    },
    /// Takes or refuses a correction, in place of what was said of the same correction before.
    Rule {
        /// The decision.
        ruling: Ruling,
    },
    /// Takes back a decision about a correction.
    Unrule {
        /// Where its words stand.
        at: Span,
        /// The words as they should be.
        corrected: String,
    },
    /// Puts a page among the others; its picture must have been added to the project at some time.
    AddPage {
        /// How many pages stand before it, if there are so many.
        index: usize,
        /// The page.
        page: Page,
    },
    /// Takes a page away; its picture is kept for those who undo it.
    RemovePage {
        /// Which page.
        page: PageId,
    },
}

/// A single value of a project and what it is set to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "field", content = "value", rename_all = "snake_case")]
pub enum Setting {
    /// What the project is called.
    Title(String),
    /// The user's notes.
    Notes(String),
    /// The yarn.
    Yarn(String),
    /// The plan of the making up.
    Plan(String),
    /// The country whose terms are used.
    Country(Country),
    /// The stitches cast on.
    CastOn(Option<u32>),
    /// The gauge of plain fabric.
    Gauge(Option<Gauge>),
    /// Title of the source.
    #[serde(rename = "source.title")]
    SourceTitle(String),
    /// Who made the pattern.
    #[serde(rename = "source.creator")]
    SourceCreator(String),
    /// Who published it.
    #[serde(rename = "source.publisher")]
    SourcePublisher(String),
    /// When it was published.
    #[serde(rename = "source.date")]
    SourceDate(String),
    /// Where it was published.
    #[serde(rename = "source.place")]
    SourcePlace(String),
    /// A shelf mark or address.
    #[serde(rename = "source.identifier")]
    SourceIdentifier(String),
    /// The pages that the pattern stands on.
    #[serde(rename = "source.pages")]
    SourcePages(String),
    /// Its language.
    #[serde(rename = "source.language")]
    SourceLanguage(String),
    /// Who may do what with it.
    #[serde(rename = "source.rights")]
    SourceRights(String),
}

/// Why a change does not fit the project.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ChangeError {
    /// It names a place that the text does not have.
    #[error("there are no whole letters from byte {start} to byte {end} of the text")]
    Place {
        /// First byte.
        start: u32,
        /// One past the last byte.
        end: u32,
    },
    /// The text or line would be too long.
    #[error("this is longer than the {limit} bytes that are kept of it")]
    TooLong {
        /// The most bytes.
        limit: usize,
    },
    /// There would be too many of one kind.
    #[error("there are more than {limit} of one kind")]
    TooMany {
        /// The most of one kind.
        limit: usize,
    },
    /// It takes back a decision that was not made.
    #[error("nothing was decided about this correction")]
    NoRuling,
    /// It names a page that the project does not have.
    #[error("the project has no page {0}")]
    NoPage(u32),
    /// It adds what is there already.
    #[error("the same page or correction stands there twice")]
    Twice,
    /// It sets a gauge without stitches or rows.
    #[error("a gauge needs some stitches and some rows to ten centimetres, and no more than a thousand")]
    Gauge,
}

/// Makes the changes one after the other and returns those that take them all back.
///
/// Where one does not fit, the project is left half changed and must be thrown away.
pub(crate) fn apply_all(project: &mut Project, changes: &[Change]) -> Result<Vec<Change>, ChangeError> {
    check_count(changes.len())?;
    let mut inverses = Vec::with_capacity(changes.len());
    for change in changes {
        inverses.push(change.apply(project)?);
    }
    Ok(inverses.into_iter().rev().flatten().collect())
}

/// The changes that make one project of another.
pub(crate) fn difference(from: &Project, to: &Project) -> Vec<Change> {
    let splice = |from: &str, to: &str| {
        let remove = u32::try_from(from.len()).unwrap_or(u32::MAX);
        (from != to).then(|| Splice { at: 0, remove, insert: to.to_owned() })
    };
    let take_back = |ruling: &Ruling| Change::Unrule { at: ruling.at, corrected: ruling.corrected.clone() };
    let questions = from.answers.keys().filter(|question| !to.answers.contains_key(*question));
    let opened = questions.map(|question| Change::Answer { question: question.clone(), answer: None });
    let answered = to.answers.iter().map(|(question, answer)| Change::Answer {
        question: question.clone(),
        answer: Some(answer.clone()),
    });
    let settings = Setting::all(from).into_iter().zip(Setting::all(to));
    let added = to.pages.iter().enumerate();

    let mut changes: Vec<Change> = from.rulings.iter().map(take_back).collect();
    changes.extend(splice(&from.text, &to.text).map(Change::Text));
    changes.extend(splice(&from.glossary, &to.glossary).map(Change::Glossary));
    changes.extend(to.rulings.iter().map(|ruling| Change::Rule { ruling: ruling.clone() }));
    changes.extend(settings.filter(|(old, new)| old != new).map(|(_, new)| Change::Set(new)));
    changes.extend(opened.chain(answered));
    changes.extend(from.pages.iter().map(|page| Change::RemovePage { page: page.page }));
    changes.extend(added.map(|(index, page)| Change::AddPage { index, page: page.clone() }));
    changes
}

impl Change {
    /// Makes the change and returns those that take it back, in the order they are to be made.
    fn apply(&self, project: &mut Project) -> Result<Vec<Change>, ChangeError> {
        match self {
            Change::Text(splice) => splice_text(project, splice),
            Change::Glossary(splice) => Ok(vec![Change::Glossary(splice.apply(&mut project.glossary)?)]),
            Change::Set(setting) => Ok(vec![Change::Set(setting.apply(project)?)]),
            Change::Answer { question, answer } => answer_question(project, question, answer.as_deref()),
            Change::Rule { ruling } => rule(project, ruling),
            Change::Unrule { at, corrected } => unrule(project, *at, corrected),
            Change::AddPage { index, page } => add_page(project, *index, page),
            Change::RemovePage { page } => remove_page(project, *page),
        }
    }

    /// Whether it is typing that goes on where `earlier` stopped.
    pub(crate) fn adjoins(&self, earlier: &Change) -> bool {
        match (self, earlier) {
            (Change::Text(splice), Change::Text(before)) => splice.adjoins(before),
            (Change::Glossary(splice), Change::Glossary(before)) => splice.adjoins(before),
            _ => false,
        }
    }
}

fn splice_text(project: &mut Project, splice: &Splice) -> Result<Vec<Change>, ChangeError> {
    // Only rulings ask how the text read before.
    let before = if project.rulings.is_empty() { String::new() } else { project.text.clone() };
    let back = splice.apply(&mut project.text)?;
    let mut dropped = Vec::new();
    project.rulings.retain_mut(|ruling| match splice.follow(&back, &before, &project.text, ruling.at) {
        Some(at) => {
            ruling.at = at;
            true
        }
        None => {
            dropped.push(Change::Rule { ruling: ruling.clone() });
            false
        }
    });
    Ok(std::iter::once(Change::Text(back)).chain(dropped).collect())
}

fn answer_question(
    project: &mut Project,
    question: &str,
    answer: Option<&str>,
) -> Result<Vec<Change>, ChangeError> {
    check_line(question)?;
    check_line(answer.unwrap_or_default())?;
    let before = match answer {
        Some(answer) => project.answers.insert(question.to_owned(), answer.to_owned()),
        None => project.answers.remove(question),
    };
    check_count(project.answers.len())?;
    Ok(vec![Change::Answer { question: question.to_owned(), answer: before }])
}

fn rule(project: &mut Project, ruling: &Ruling) -> Result<Vec<Change>, ChangeError> {
    check_ruling(&project.text, ruling)?;
    let back = match project.rulings.binary_search_by(|other| other.key().cmp(&ruling.key())) {
        Ok(index) => Change::Rule { ruling: std::mem::replace(&mut project.rulings[index], ruling.clone()) },
        Err(index) => {
            project.rulings.insert(index, ruling.clone());
            Change::Unrule { at: ruling.at, corrected: ruling.corrected.clone() }
        }
    };
    check_count(project.rulings.len())?;
    Ok(vec![back])
}

fn unrule(project: &mut Project, at: Span, corrected: &str) -> Result<Vec<Change>, ChangeError> {
    let index = project
        .rulings
        .binary_search_by(|other| other.key().cmp(&(at, corrected)))
        .map_err(|_| ChangeError::NoRuling)?;
    Ok(vec![Change::Rule { ruling: project.rulings.remove(index) }])
}

fn add_page(project: &mut Project, index: usize, page: &Page) -> Result<Vec<Change>, ChangeError> {
    check_line(&page.name)?;
    if project.pages.iter().any(|other| other.page == page.page) {
        return Err(ChangeError::Twice);
    }
    project.pages.insert(index.min(project.pages.len()), page.clone());
    check_count(project.pages.len())?;
    Ok(vec![Change::RemovePage { page: page.page }])
}

fn remove_page(project: &mut Project, page: PageId) -> Result<Vec<Change>, ChangeError> {
    let index = project.pages.iter().position(|other| other.page == page);
    let index = index.ok_or(ChangeError::NoPage(page.number()))?;
    Ok(vec![Change::AddPage { index, page: project.pages.remove(index) }])
}

impl Setting {
    /// All single values of a project, in the order they are declared in.
    fn all(project: &Project) -> [Setting; 16] {
        let source = project.source.clone();
        [
            Setting::Title(project.title.clone()),
            Setting::Notes(project.notes.clone()),
            Setting::Yarn(project.yarn.clone()),
            Setting::Plan(project.plan.clone()),
            Setting::Country(project.country),
            Setting::CastOn(project.cast_on),
            Setting::Gauge(project.gauge),
            Setting::SourceTitle(source.title),
            Setting::SourceCreator(source.creator),
            Setting::SourcePublisher(source.publisher),
            Setting::SourceDate(source.date),
            Setting::SourcePlace(source.place),
            Setting::SourceIdentifier(source.identifier),
            Setting::SourcePages(source.pages),
            Setting::SourceLanguage(source.language),
            Setting::SourceRights(source.rights),
        ]
    }

    /// Sets the value and returns what it was before.
    fn apply(&self, project: &mut Project) -> Result<Setting, ChangeError> {
        let source = &mut project.source;
        Ok(match self {
            Setting::Title(value) => Setting::Title(set_line(&mut project.title, value)?),
            Setting::Notes(value) => Setting::Notes(set_text(&mut project.notes, value)?),
            Setting::Yarn(value) => Setting::Yarn(set_text(&mut project.yarn, value)?),
            Setting::Plan(value) => Setting::Plan(set_text(&mut project.plan, value)?),
            Setting::Country(value) => Setting::Country(std::mem::replace(&mut project.country, *value)),
            Setting::CastOn(value) => Setting::CastOn(std::mem::replace(&mut project.cast_on, *value)),
            Setting::Gauge(value) => {
                value.map_or(Ok(()), check_gauge)?;
                Setting::Gauge(std::mem::replace(&mut project.gauge, *value))
            }
            Setting::SourceTitle(value) => Setting::SourceTitle(set_line(&mut source.title, value)?),
            Setting::SourceCreator(value) => Setting::SourceCreator(set_line(&mut source.creator, value)?),
            Setting::SourcePublisher(value) => {
                Setting::SourcePublisher(set_line(&mut source.publisher, value)?)
            }
            Setting::SourceDate(value) => Setting::SourceDate(set_line(&mut source.date, value)?),
            Setting::SourcePlace(value) => Setting::SourcePlace(set_line(&mut source.place, value)?),
            Setting::SourceIdentifier(value) => {
                Setting::SourceIdentifier(set_line(&mut source.identifier, value)?)
            }
            Setting::SourcePages(value) => Setting::SourcePages(set_line(&mut source.pages, value)?),
            Setting::SourceLanguage(value) => Setting::SourceLanguage(set_line(&mut source.language, value)?),
            Setting::SourceRights(value) => Setting::SourceRights(set_line(&mut source.rights, value)?),
        })
    }
}

fn set_line(field: &mut String, value: &str) -> Result<String, ChangeError> {
    check_line(value)?;
    Ok(std::mem::replace(field, value.to_owned()))
}

fn set_text(field: &mut String, value: &str) -> Result<String, ChangeError> {
    check_text(value)?;
    Ok(std::mem::replace(field, value.to_owned()))
}

#[cfg(test)]
mod tests {
    use span::Span;

    use super::{apply_all, difference};
    use crate::{Country, Gauge, Media, Page, PageId, Project, Ruling, Source};

    fn ruling(at: Span, corrected: &str) -> Ruling {
        let printed = "24".to_owned();
        Ruling { at, printed, corrected: corrected.to_owned(), why: String::new(), taken: true }
    }

    #[test]
    fn the_difference_of_two_projects_leads_from_one_to_the_other_and_back() {
        let page = |number| Page {
            page: PageId::from_number(number),
            name: format!("scan {number}"),
            media: Media::Png,
        };
        let one = Project {
            text: "Cast on 24 stitches.".to_owned(),
            answers: [("P", "plain"), ("M", "make")].map(|(q, a)| (q.to_owned(), a.to_owned())).into(),
            rulings: vec![ruling(Span::new(8, 10), "25"), ruling(Span::new(8, 10), "26")],
            pages: vec![page(1), page(2)],
            ..Project::default()
        };
        let other = Project {
            title: "A mat".to_owned(),
            text: "Now cast on 24.".to_owned(),
            glossary: "P means purl.".to_owned(),
            source: Source { creator: "A lady".to_owned(), rights: "none".to_owned(), ..Source::default() },
            cast_on: Some(24),
            gauge: Some(Gauge { stitches: 20.0, rows: 28.0 }),
            yarn: "fleecy".to_owned(),
            notes: "for the carriage".to_owned(),
            plan: "ease = 3".to_owned(),
            country: Country::Us,
            answers: [("P", "purl"), ("S", "slip")].map(|(q, a)| (q.to_owned(), a.to_owned())).into(),
            rulings: vec![ruling(Span::new(12, 14), "25")],
            pages: vec![page(3), page(1)],
        };
        for (from, to) in [(&one, &other), (&other, &one)] {
            let mut project = from.clone();
            let back = apply_all(&mut project, &difference(from, to)).unwrap();
            assert_eq!(&project, to);
            apply_all(&mut project, &back).unwrap();
            assert_eq!(&project, from);
        }
    }
}
