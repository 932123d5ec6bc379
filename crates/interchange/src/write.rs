//! stub
use crate::Remark;
pub struct Exported{pub text:String,pub remarks:Vec<Remark>}
pub fn write(_t:&str)->Result<Exported,Vec<batch::Fault>>{ Err(Vec::new()) }
