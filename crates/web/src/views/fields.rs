//! Fields of the forms that ask: each with its label, and what is wrong in it beside it.

use batch::Fault;
use maud::{Markup, html};

/// A line of text. `such_as` stands in it while it is empty.
pub fn text(name: &str, label: &str, value: &str, such_as: &str, wrong: Option<&str>) -> Markup {
    let id = name.replace([' ', '.'], "-");
    let fault = format!("{id}-fault");
    html! {
        div.field {
            label for=(id) { (label) }
            input id=(id) name=(name) type="text" value=(value) placeholder=[(!such_as.is_empty()).then_some(such_as)]
                autocomplete="off" spellcheck="false"
                aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| &fault)];
            @if let Some(wrong) = wrong { p.fault id=(fault) { (wrong) } }
        }
    }
}

/// What is wrong and what would work.
pub fn told(fault: &Fault) -> String {
    format!("{}; {}", fault.message, fault.help)
}
