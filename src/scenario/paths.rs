//! Paths by which conditions and expectations point into an observation.
//!
//! *Inside*: finding, listing and checking them. *Outside*: what an observation holds.

use crate::scenario::source::{nearest, shown};
use crate::scenario::{Act, Expect, Mistake, Place, Rule, ScenarioError, Timing, Type};
use serde_json::Value;

/// The value at a dot path. A segment is a key of an object. In a list it selects the element with this text as its
/// `name`, `code` or `id`; `bankN` selects the element whose `bank` is N, and `cylinderN` likewise; a plain number is
/// the index into a list of plain values, from 0.
///
/// `codes.<CODE>.pending`, `.confirmed` and `.permanent` are false for a code that is not in the list `codes`.
pub fn lookup(root: &Value, path: &str) -> Option<Value> {
    find(root, path).map(std::borrow::Cow::into_owned)
}

/// Every path that leads to a plain value, in [`lookup`]'s notation and the object's order.
pub fn paths(root: &Value) -> Vec<String> {
    fn walk(node: &Value, path: &str, out: &mut Vec<String>) {
        let mut go = |segment: &str, below: &Value| {
            if !segment.is_empty() && !segment.contains('.') {
                let dot = if path.is_empty() { "" } else { "." };
                walk(below, &format!("{path}{dot}{segment}"), out);
            }
        };
        match node {
            Value::Object(map) => map.iter().for_each(|(key, below)| go(key, below)),
            Value::Array(list) => {
                for (index, below) in list.iter().enumerate() {
                    // Only a name that leads back to this very element is used.
                    let leads_here =
                        |name: &String| child(node, name).is_some_and(|c| std::ptr::eq(c, below));
                    if let Some(name) = names(below, index).into_iter().find(leads_here) {
                        go(&name, below);
                    }
                }
            }
            _ if path.is_empty() => {}
            _ => out.push(path.to_owned()),
        }
    }
    let mut out = Vec::new();
    walk(root, "", &mut out);
    out
}

/// The names that select an element of a list.
fn names(element: &Value, index: usize) -> Vec<String> {
    let Value::Object(map) = element else { return vec![index.to_string()] };
    let words = NAME_KEYS.iter().filter_map(|key| map.get(*key)?.as_str().map(str::to_owned));
    let numbers = NUMBER_KEYS.iter().filter_map(|key| Some(format!("{key}{}", map.get(*key)?.as_u64()?)));
    words.chain(numbers).collect()
}

/// True if the segment is one of [`names`], without building them: conditions are evaluated often.
fn is_called(element: &Value, index: usize, segment: &str) -> bool {
    let number = |text: &str| match text.as_bytes() {
        [b'0'] => Some(0),
        [b'1'..=b'9', ..] => text.parse::<u64>().ok(),
        _ => None,
    };
    let Value::Object(map) = element else { return number(segment) == Some(index as u64) };
    NAME_KEYS.iter().any(|key| map.get(*key).and_then(Value::as_str) == Some(segment))
        || NUMBER_KEYS.iter().any(|key| {
            let wanted = segment.strip_prefix(key).and_then(number);
            wanted.is_some() && map.get(*key).and_then(Value::as_u64) == wanted
        })
}

/// Keys whose text is the name of a list element.
const NAME_KEYS: &[&str] = &["name", "code", "id"];
/// Keys whose number is the name of a list element, as in `bank2`.
const NUMBER_KEYS: &[&str] = &["bank", "cylinder"];

fn child<'v>(node: &'v Value, segment: &str) -> Option<&'v Value> {
    match node {
        Value::Object(map) => map.get(segment),
        Value::Array(list) => {
            let mut elements = list.iter().enumerate();
            elements.find(|(index, element)| is_called(element, *index, segment)).map(|(_, element)| element)
        }
        _ => None,
    }
}

pub(super) fn find<'v>(root: &'v Value, path: &str) -> Option<std::borrow::Cow<'v, Value>> {
    use std::borrow::Cow;
    if let Some(value) = path.split('.').try_fold(root, child) {
        return Some(Cow::Borrowed(value));
    }
    let (code, _) = code_flag(path)?;
    let list = root.get("codes").filter(|codes| codes.is_array())?;
    child(list, code).is_none().then_some(Cow::Owned(Value::Bool(false)))
}

/// The states of a code that a path may ask for.
const CODE_FLAGS: &[&str] = &["pending", "confirmed", "permanent"];

/// Code and state in a path `codes.<CODE>.<state>`.
fn code_flag(path: &str) -> Option<(&str, &str)> {
    let (code, flag) = path.strip_prefix("codes.")?.split_once('.')?;
    (!code.is_empty() && CODE_FLAGS.contains(&flag)).then_some((code, flag))
}

/// The type of value that a path must lead to.
fn type_of(value: &Value) -> Type {
    match value {
        Value::Bool(_) => Type::Flag,
        Value::String(_) => Type::Word,
        _ => Type::Number,
    }
}

pub(super) fn check_paths(
    acts: &[Act],
    expects: &[Expect],
    file: &str,
    sample: &Value,
    codes: &[&str],
) -> Result<(), ScenarioError> {
    let conditions = acts.iter().filter_map(|act| match &act.timing {
        Timing::When { condition, .. } => {
            let wanted = if condition.op.ranks() { Type::Number } else { type_of(&condition.value) };
            Some((condition.place, condition.path.as_str(), wanted))
        }
        _ => None,
    });
    let expectations = expects.iter().map(|expect| {
        let wanted = match &expect.rule {
            Rule::Between { .. } => Type::Number,
            Rule::Is(value) => type_of(value),
        };
        (expect.place, expect.what.as_str(), wanted)
    });
    check_uses(conditions.chain(expectations).collect(), file, sample, codes)
}

/// True if the path leads to truth, not to something measured.
pub(super) fn is_truth(path: &str) -> bool {
    path == "truth" || path.starts_with("truth.")
}

/// Checks that each path of a plan leads to a value that its rule can compare.
pub(super) fn check_rules(
    rules: &[(Place, &str, Option<&Rule>)],
    file: &str,
    sample: &Value,
    codes: &[&str],
) -> Result<(), ScenarioError> {
    let of = |(place, path, rule): &(Place, &'_ str, Option<&Rule>)| {
        let wanted = match rule {
            Some(Rule::Is(value)) => type_of(value),
            _ => Type::Number,
        };
        (*place, (*path).to_owned(), wanted)
    };
    let all: Vec<_> = rules.iter().map(of).collect();
    check_uses(all.iter().map(|(p, path, w)| (*p, path.as_str(), *w)).collect(), file, sample, codes)
}

fn check_uses(
    mut uses: Vec<(Place, &str, Type)>,
    file: &str,
    sample: &Value,
    codes: &[&str],
) -> Result<(), ScenarioError> {
    uses.sort_by_key(|(place, ..)| *place);
    let wrong = uses.into_iter().filter_map(|(place, path, wanted)| {
        let (mistake, help) = check_path(path, wanted, sample, codes).err()?;
        Some(ScenarioError::at(file, place, *mistake, help))
    });
    ScenarioError::all(wrong).map_or(Ok(()), Err)
}

/// The broken rule and the nearest valid path.
type PathFault = (Box<Mistake>, Option<String>);

fn check_path(path: &str, wanted: Type, sample: &Value, codes: &[&str]) -> Result<(), PathFault> {
    let known_code = code_flag(path).is_some_and(|(code, _)| codes.contains(&code));
    let there = if known_code { Some(&Value::Bool(false)) } else { path.split('.').try_fold(sample, child) };
    let kind = match there {
        Some(Value::Null) => return Ok(()),
        Some(plain @ (Value::Number(_) | Value::Bool(_) | Value::String(_))) => type_of(plain),
        other => {
            let mut known = paths(sample);
            known.extend(codes.iter().flat_map(|c| CODE_FLAGS.iter().map(move |f| format!("codes.{c}.{f}"))));
            if other.is_some() {
                let below = known.into_iter().find(|p| p.starts_with(&format!("{path}.")));
                return Err((Mistake::PathToGroup { given: shown(path) }.into(), below));
            }
            return Err((Mistake::NoPath { given: shown(path) }.into(), nearest(path, &known)));
        }
    };
    if kind == wanted {
        return Ok(());
    }
    Err((Mistake::PathType { given: shown(path), is: kind, wanted }.into(), None))
}
