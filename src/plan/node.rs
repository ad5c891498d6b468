//! A plan's JSON as a tree that keeps keys in their order, doubled ones included.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

/// One JSON value.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Node {
    Null,
    Bool(bool),
    Number(f64),
    Text(String),
    List(Vec<Self>),
    Object(Vec<(String, Self)>),
}

impl Node {
    /// What the value is, for messages.
    pub(super) fn what(&self) -> &'static str {
        match self {
            Self::Null => "null",
            Self::Bool(_) => "true or false",
            Self::Number(_) => "a bare number",
            Self::Text(_) => "text",
            Self::List(_) => "a list",
            Self::Object(_) => "a group in braces",
        }
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NodeVisitor)
    }
}

struct NodeVisitor;

impl<'de> Visitor<'de> for NodeVisitor {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Node, E> {
        Ok(Node::Bool(value))
    }

    #[expect(
        clippy::cast_precision_loss,
        reason = "no count in a plan comes near 2^53; larger ones are refused by size anyway"
    )]
    fn visit_i64<E>(self, value: i64) -> Result<Node, E> {
        Ok(Node::Number(value as f64))
    }

    #[expect(
        clippy::cast_precision_loss,
        reason = "no count in a plan comes near 2^53; larger ones are refused by size anyway"
    )]
    fn visit_u64<E>(self, value: u64) -> Result<Node, E> {
        Ok(Node::Number(value as f64))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Node, E> {
        Ok(Node::Number(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Node, E> {
        Ok(Node::Text(value.to_owned()))
    }

    fn visit_string<E>(self, value: String) -> Result<Node, E> {
        Ok(Node::Text(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let mut nodes = Vec::new();
        while let Some(node) = list.next_element()? {
            nodes.push(node);
        }
        Ok(Node::List(nodes))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Node::Object(entries))
    }
}
