//! `eyas serve`: the pages.

use std::io::Write as _;
use std::net::IpAddr;

use serde_json::json;

use super::{Answer, Common, pretty, usage};
use crate::tell::Trouble;
use crate::web::serve::{Listen, serve};

/// Show the whole round in a browser; only this machine may ask unless told otherwise
///
/// Example: eyas serve --hangar demo/hangar.db
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Port to listen on; 0 takes a free one
    #[arg(long, default_value_t = 7411)]
    port: u16,
    /// Address to listen on; any but this machine's own asks every browser for a key
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    listen: IpAddr,
    /// Key that browsers have to show, at least 16 letters or digits [default: made up where other machines may ask]
    #[arg(long, value_name = "KEY")]
    key: Option<String>,
    /// Another name of this machine that may stand in the address; may be repeated
    #[arg(long, value_name = "NAME")]
    name: Vec<String>,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(key) = &args.key
        && (key.len() < 16 || !key.bytes().all(|b| b.is_ascii_alphanumeric()))
    {
        return Err(usage(
            "--key is shorter than 16, or holds more than letters and digits",
            "leave it out to have one made up",
        ));
    }
    let as_json = common.json;
    let listen =
        Listen { address: args.listen, port: args.port, key: args.key.clone(), names: args.name.clone() };
    let open = !args.listen.is_loopback();
    serve(Common { hangar: common.hangar.clone(), json: false }, listen, &mut |address| {
        let text = if as_json {
            pretty(&json!({"address": address}))
        } else if open {
            format!(
                "The pages are at {address}\nEverybody who has this address can change what is kept. Stop with Ctrl-C.\n"
            )
        } else {
            format!("The pages are at {address}\nStop with Ctrl-C.\n")
        };
        let mut out = std::io::stdout();
        let _ = out.write_all(text.as_bytes());
        let _ = out.flush();
    })?;
    Ok(Answer { text: String::new(), json: serde_json::Value::Null, no: false })
}
