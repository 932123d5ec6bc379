pub(crate) fn reagents() -> Vec<String> { vec![] }
pub(crate) fn reagent(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn salts() -> Vec<String> { vec![] }
pub(crate) fn salt(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn acids() -> Vec<String> { vec![] }
pub(crate) fn acid(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn malts() -> Vec<String> { vec![] }
pub(crate) fn malt(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn hop(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn strains() -> Vec<String> { vec![] }
pub(crate) fn strain(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn bottles() -> Vec<String> { vec![] }
pub(crate) fn bottle(s: &str) -> Result<String, String> { Ok(s.into()) }
pub(crate) fn sugars() -> Vec<String> { vec![] }
pub(crate) fn sugar(s: &str) -> Result<String, String> { Ok(s.into()) }
