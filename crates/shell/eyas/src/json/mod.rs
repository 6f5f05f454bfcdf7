//! The shapes of the documents that scripts rely on. Keys end in their unit; no suffix means no dimension. An
//! uncertain number is `{"value", "sd", "from"}`; one that could not be made is `null`, and `"why"` beside it holds
//! the reason under the same key.

pub(crate) mod authority;
pub(crate) mod day;
pub(crate) mod description;
pub(crate) mod drive;
pub(crate) mod findings;
pub(crate) mod launch;
pub(crate) mod prediction;
pub(crate) mod reading;
pub(crate) mod ready;
mod response;
pub(crate) mod stalling;

use aircraft::Known;
use serde_json::{Map, Value, json};

/// A number as JSON; what is not finite becomes `null`.
pub(crate) fn number(value: f64) -> Value {
    serde_json::Number::from_f64(value).map_or(Value::Null, Value::Number)
}

/// A known number, scaled from SI to the unit of its key.
pub(crate) fn known(k: Known, factor: f64) -> Value {
    json!({"value": number(k.value * factor), "sd": number(k.sd * factor.abs()), "from": k.from.word()})
}

/// An object under construction that gathers the reasons for its missing values.
#[derive(Debug, Default)]
pub(crate) struct Object {
    fields: Map<String, Value>,
    why: Map<String, Value>,
}

impl Object {
    /// Sets a field.
    pub(crate) fn set(&mut self, key: &str, value: impl Into<Value>) {
        self.fields.insert(key.into(), value.into());
    }

    /// Sets a field, or its reason.
    pub(crate) fn set_or_why(&mut self, key: &str, value: Result<Value, String>) {
        match value {
            Ok(value) => self.set(key, value),
            Err(why) => {
                self.fields.insert(key.into(), Value::Null);
                self.why.insert(key.into(), Value::String(why));
            }
        }
    }

    /// The finished object.
    pub(crate) fn done(mut self) -> Value {
        if !self.why.is_empty() {
            self.fields.insert("why".into(), Value::Object(self.why));
        }
        Value::Object(self.fields)
    }
}
