//! The command line: what can be asked, in the words of the trade.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};

use crate::clean::CleanCommand;
use crate::device::DeviceCommand;
use crate::instrument::InstrumentCommand;
use crate::job::{JobCommand, WorkAsked};
use crate::kettle::WortCommand;
use crate::liquor::WaterCommand;
use crate::log::LogCommand;
use crate::measure::MeasureCommand;
use crate::of_batch::OfBatch;
use crate::people::PeopleCommand;
use crate::study::StudyCommand;
use crate::taste::TasteCommand;

/// How the process ends, for scripts.
pub mod exit {
    /// Done.
    pub const FINE: u8 = 0;
    /// The program is at fault; please report it.
    pub const DEFECT: u8 = 1;
    /// The command line, the document or the plan in it cannot be used as it is.
    pub const INPUT: u8 = 2;
    /// A file cannot be read or written.
    pub const FILE: u8 = 3;
}

const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  a defect of the program
  2  the command line, the document or the plan in it cannot be used as it is
  3  a file cannot be read or written";

/// One model from the tap to the glass, for small-scale brewers.
///
/// A batch document says what water there is, what is brewed on which kit, with
/// which yeast and which course. From it comes the whole plan: what to weigh and
/// do, what the beer will be, and what is at risk.
#[derive(Debug, Parser)]
#[command(name = "gyle", version, after_help = EXIT_CODES, propagate_version = true)]
pub struct Cli {
    /// What to do; left out, the application is served and opened.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Where batches are kept: a file, or postgres://...; left out, one file in
    /// the platform's data folder.
    #[arg(long, global = true, env = "GYLEWRIGHT_STORE", value_name = "PLACE")]
    pub store: Option<String>,
}

/// How lines of a log are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LogForm {
    /// For people.
    Text,
    /// One JSON object a line.
    Json,
}

/// What can be asked.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve the web application on this machine and open it.
    #[command(after_help = "\
Examples:
  gyle serve
  gyle serve --port 4180 --no-browser
  gyle serve --phones 192.168.1.20:4181
  gyle serve --sensors 192.168.1.20:4182
  gyle serve --shared --behind-proxy --allow-host brewing.example --log json
  gyle serve --store postgres://brewer@localhost/gylewright")]
    Serve {
        /// The port; 0 takes a free one.
        #[arg(long, default_value_t = 4180)]
        port: u16,
        /// The address to listen on. Loopback is this machine alone; any other
        /// lets others in, who can change everything.
        #[arg(long, default_value = "127.0.0.1")]
        listen: IpAddr,
        /// A further host name to answer to, as written in the address bar.
        #[arg(long = "allow-host", value_name = "NAME")]
        allow_hosts: Vec<String>,
        /// A second address, for the phones of tasters on the local network: it leads
        /// to a taster's page alone, by a code that works once.
        #[arg(long, value_name = "ADDRESS:PORT")]
        phones: Option<SocketAddr>,
        /// A further address, for devices on the local network: it takes readings with a
        /// token (gyle device add), and nothing else.
        #[arg(long, value_name = "ADDRESS:PORT")]
        sensors: Option<SocketAddr>,
        /// For several people: everybody signs in, and sees what the own groups have.
        /// Begin with: gyle people begin
        #[arg(long, conflicts_with = "phones")]
        shared: bool,
        /// A proxy in front says where requests come from (X-Forwarded-For); without one,
        /// anybody could say so.
        #[arg(long, requires = "shared")]
        behind_proxy: bool,
        /// A further address, for whoever watches over the server: /metrics (the text form
        /// of Prometheus), /health and /ready. Whoever reaches it may read them.
        #[arg(long, value_name = "ADDRESS:PORT")]
        metrics: Option<SocketAddr>,
        /// Write a line to standard error for each request; no names, texts or tokens.
        #[arg(long, value_enum)]
        log: Option<LogForm>,
        /// Only print the address.
        #[arg(long)]
        no_browser: bool,
        /// Leave searches and draws to workers of their own (gyle work).
        #[arg(long)]
        no_work: bool,
    },
    /// Do the searches and draws that others ask for, on this machine.
    #[command(after_help = "\
Any number of them work on one store, beside the servers or without them.

Examples:
  gyle work --store postgres://brewer@localhost/gylewright
  gyle work --threads 2 --until-empty")]
    Work(WorkAsked),
    /// Look at searches and draws that were asked for, and stop them.
    Job {
        /// What to do.
        #[command(subcommand)]
        command: JobCommand,
    },
    /// List the batches of the store.
    #[command(after_help = "\
Examples:
  gyle list
  gyle list lantern --json")]
    List {
        /// A part of the name.
        #[arg(default_value = "")]
        find: String,
        /// The list as JSON (schema: gyle schema batches).
        #[arg(long)]
        json: bool,
    },
    /// Keep a batch document in the store.
    #[command(after_help = "\
Examples:
  gyle keep mine.toml
  gyle example lantern-pale | gyle keep -")]
    Keep {
        /// The batch document; - reads standard input.
        file: PathBuf,
    },
    /// Back up, restore, check, export or import the store.
    #[command(after_help = "\
What searches and draws found (gyle job) is kept for a week, goes into no export, and is not
restored: it can be reckoned again.")]
    Store {
        /// What to do.
        #[command(subcommand)]
        command: StoreCommand,
    },
    /// Take in recipes from a file of the open standard BeerJSON, or everything that an
    /// export wrote.
    #[command(after_help = "\
Examples:
  gyle import recipes.json --look
  gyle import recipes.json
  gyle import recipes.json --json > report.json
  gyle import my-brewing --everything")]
    Import(crate::interchange::Import),
    /// Write a batch for other programs, or everything as plain files.
    #[command(after_help = "\
Examples:
  gyle export lantern-pale.toml -o lantern-pale.json
  gyle export store:lantern --as beerjson > lantern.json
  gyle export mine.toml --json
  gyle export my-brewing --everything")]
    Export(crate::interchange::Export),
    /// Reckon a batch: the plan for brew day, the beer, the risks.
    #[command(after_help = "\
Examples:
  gyle reckon lantern-pale.toml
  gyle reckon lantern-pale.toml --units us
  gyle reckon lantern-pale.toml --json > reckoning.json
  gyle reckon store:lantern
  gyle example lantern-pale | gyle reckon -")]
    Reckon(OfBatch),
    /// Say how sure the figures of a batch are, and what to measure better.
    #[command(after_help = "\
Every figure with a spread is drawn, all together, and each draw is reckoned from tap to glass.

Examples:
  gyle certainty lantern-pale.toml
  gyle certainty store:lantern --draws 8192 --points 512
  gyle certainty lantern-pale.toml --points 0 --json")]
    Certainty(crate::certainty::Asked),
    /// Lay batches side by side: what differs, and which difference made which.
    #[command(after_help = "\
What differs falls into parts that can be taken over one by one; each has what it adds on
average over every order, and the shares sum to the whole difference.

Examples:
  gyle compare demo:lantern-pale-first demo:lantern-pale
  gyle compare lantern-pale.toml store:lantern@3 store:lantern
  gyle compare first.toml second.toml --draws 0 --finely --json")]
    Compare(crate::compare::Asked),
    /// Check a batch document without reckoning it.
    #[command(after_help = "\
Examples:
  gyle check lantern-pale.toml
  gyle check - --json < lantern-pale.toml")]
    Check {
        /// The batch document; - reads standard input, store:NAME a batch of the
        /// store.
        file: PathBuf,
        /// What was found as JSON (schema: gyle schema check).
        #[arg(long)]
        json: bool,
    },
    /// Say how a batch is packed, and whether its bottles stand it.
    #[command(after_help = "\
Examples:
  gyle package lantern-pale.toml
  gyle package store:lantern --units us
  gyle package mine.toml --json")]
    Package(OfBatch),
    /// What is asked about cleaning and sanitising.
    Clean {
        /// What.
        #[command(subcommand)]
        command: CleanCommand,
    },
    /// Write a batch as one page of HTML that loads nothing.
    #[command(after_help = "\
Examples:
  gyle report lantern-pale.toml -o lantern-pale.html
  gyle report store:lantern --units us > lantern.html")]
    Report {
        /// The batch document; - reads standard input, store:NAME a batch of the
        /// store.
        file: PathBuf,
        /// The file, which must not exist yet; left out, standard output.
        #[arg(short, long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// Units of the report.
        #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
        units: UnitsChoice,
    },
    /// The small tools beside the kettle: what readings say.
    Measure {
        /// Which tool.
        #[command(subcommand)]
        command: MeasureCommand,
    },
    /// What is asked about water.
    Water {
        /// What.
        #[command(subcommand)]
        command: WaterCommand,
    },
    /// What is asked about wort.
    Wort {
        /// What.
        #[command(subcommand)]
        command: WortCommand,
    },
    /// Say how much yeast a wort needs, what is at hand, and how to close the gap.
    #[command(after_help = "\
Examples:
  gyle pitch lantern-pale.toml
  gyle pitch store:lantern --vessel '2 L' --json
  gyle pitch --gravity 1.050 --volume '20 L' --class lager --aim clean --form liquid --cells '200 billion cells' --age '30 d'")]
    Pitch(Box<crate::pitch::Asked>),
    /// Find the temperatures, the pitch and the days that serve a wish best.
    ///
    /// A figure is wished in words: "at most 0.1 mg/L", "at least 2 mg/L", least, most,
    /// or "most weight 2" beside others. Without a wish: the fewest days without butter.
    #[command(after_help = "\
Examples:
  gyle steer lantern-pale.toml
  gyle steer lantern-pale.toml --by '12 d' --banana 'at least 3 mg/L' --butter least
  gyle steer towpath-amber.toml --soon --coldest '8 °C' --warmest '14 °C' --csv
  gyle steer store:amber --from-now
  gyle steer towpath-amber.toml --read '2 d, 1.050; 3 d, 1.042, 11 °C' --json")]
    Steer(Box<crate::steer::Asked>),
    /// Find recipes that meet an aim: amounts, temperatures, salts, yeast and gas.
    ///
    /// The aim is that of the document, with what --aim, a label or a sample puts in its
    /// place. What is found is weighable; where the aim cannot be had, the nearest is told,
    /// and what stands against it.
    #[command(after_help = "\
Examples:
  gyle match lantern-pale.toml
  gyle match lantern-pale.toml --aim 'colour=12 ± 1 EBC' --aim 'bitterness=at most 30 IBU'
  gyle match mine.toml --stores stores.toml --lock 'Perle, mash' --most 4
  gyle match mine.toml --aim 'banana=4 ± 1 mg/L' --move 'malts, hops, yeast, course'
  gyle match mine.toml --limit 'roast barley at most 100 g' --price 'pilsner malt 1.80'
  gyle match mine.toml --label-alcohol '5.0 %' --sample-gravity 1.010 --sample-refractometer '6.2 °Bx'
  gyle match mine.toml --take few --write fewer.toml")]
    Match(Box<crate::matching::Asked>),
    /// The same beer in another volume, place, kit or water: matched anew, not multiplied.
    #[command(after_help = "\
Examples:
  gyle move lantern-pale.toml --volume '50 L'
  gyle move lantern-pale.toml --volume '1 hL' --brewhouse quay.toml --altitude '1500 m'
  gyle move mine.toml --water spring.toml --water-name 'the spring' --write moved.toml")]
    Move(Box<crate::matching::MoveAsked>),
    /// Taste a batch blind beside the beer that was its aim.
    Taste {
        /// What.
        #[command(subcommand)]
        command: TasteCommand,
    },
    /// Say what the batches of the store teach of kit, yeast and instruments, and carry it
    /// into a plan.
    #[command(after_help = "\
Batches count that share the kit (tun and kettle of the same size, or losses and evaporation alike);
for the yeast, its name or its class.

Examples:
  gyle learn lantern
  gyle learn lantern --half-life 10 --json
  gyle learn --into lantern
  gyle learn --out-of lantern
  gyle learn --leave-out amber --because 'the tap of the kettle leaked'
  gyle learn --count-again amber")]
    Learn(Box<crate::learn::Asked>),
    /// Find out why a batch is off: causes, tests that would settle it, remedies.
    #[command(after_help = "\
Examples:
  gyle inquire lantern-pale.toml --found medicinal --absent clove
  gyle inquire mine.toml --found butter --positive forced-diketone
  gyle inquire store:lantern --json
  gyle inquire store:lantern --report what-went-wrong.html
  gyle inquire store:lantern --story --json

A batch of the store is asked about beside the other batches of its house. Findings and tests are named by their keys; gyle findings looks for them by words, and a
word that is not known is answered with the nearest.")]
    Inquire(Box<crate::inquire::Asked>),
    /// Look for findings, causes and tests by the words of tasters.
    #[command(after_help = "\
Examples:
  gyle findings wet cardboard
  gyle findings buttery --json")]
    Findings(crate::inquire::Findings),
    /// What instruments said during a fermentation.
    Log {
        /// What.
        #[command(subcommand)]
        command: LogCommand,
    },
    /// Whether an instrument can be believed: checks, corrections, two that disagree.
    Instrument {
        /// What.
        #[command(subcommand)]
        command: InstrumentCommand,
    },
    /// Sensors that send readings by themselves, each with a token of its own.
    Device {
        /// What.
        #[command(subcommand)]
        command: DeviceCommand,
    },
    /// People with accounts on a shared server: the first keeper, groups, who there is.
    People {
        /// What.
        #[command(subcommand)]
        command: PeopleCommand,
    },
    /// Say whether batches go into the study over the batches of many, and see what leaves.
    #[command(after_help = "\
Examples:
  gyle study state
  gyle study agree --batch lantern
  gyle study withdraw --every-batch")]
    Study {
        /// What.
        #[command(subcommand)]
        command: StudyCommand,
    },
    /// Watch a fermentation: where it stands, when it will have finished, what is wrong.
    #[command(after_help = "\
Examples:
  gyle watch store:lantern
  gyle watch lantern-pale.toml --readings float.csv
  gyle watch lantern-pale.toml --readings float.csv --pitched 2026-03-14T15:00:00Z --json
  gyle watch store:lantern --full
  gyle watch store:lantern --csv > forecast.csv")]
    Watch(Box<crate::watch::Asked>),
    /// List the demo documents, or write one.
    #[command(after_help = "\
Examples:
  gyle example
  gyle example lantern-pale > mine.toml
  gyle example lantern-pale --into mine.toml")]
    Example {
        /// Which one; left out, they are listed.
        name: Option<String>,
        /// Write it to this file, which must not exist yet.
        #[arg(long, requires = "name")]
        into: Option<PathBuf>,
        /// The list as JSON (schema: gyle schema demos).
        #[arg(long, conflicts_with_all = ["name", "into"])]
        json: bool,
    },
    /// Print the JSON Schema of a document or of an output.
    #[command(after_help = "\
Examples:
  gyle schema batch
  gyle schema reckoning > reckoning.schema.json")]
    Schema {
        /// Of what.
        #[arg(value_enum)]
        of: SchemaOf,
    },
    /// Print completions for a shell.
    #[command(after_help = "\
Example:
  gyle completions bash > ~/.local/share/bash-completion/completions/gyle")]
    Completions {
        /// For which shell.
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// Print the manual page.
    #[command(after_help = "\
Example:
  gyle man | man -l -")]
    Man,
}

impl Command {
    /// What is done where nothing is asked for.
    pub fn serve_usually() -> Self {
        Self::Serve {
            port: 4180,
            listen: IpAddr::from([127, 0, 0, 1]),
            allow_hosts: Vec::new(),
            phones: None,
            sensors: None,
            shared: false,
            behind_proxy: false,
            metrics: None,
            log: None,
            no_browser: false,
            no_work: false,
        }
    }
}

/// Units of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsChoice {
    /// Litres, grams, °C, EBC.
    Metric,
    /// US gallons, pounds, °F, SRM.
    Us,
}

impl From<UnitsChoice> for quantity::Units {
    fn from(choice: UnitsChoice) -> Self {
        match choice {
            UnitsChoice::Metric => Self::Metric,
            UnitsChoice::Us => Self::Us,
        }
    }
}

/// What a schema can be printed of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// The batch document.
    Batch,
    /// The output of `gyle reckon --json`.
    Reckoning,
    /// The output of `gyle check --json`.
    Check,
    /// The output of `gyle job show --json`.
    Job,
    /// The output of `gyle job list --json`.
    Jobs,
    /// The output of `gyle learn --json`.
    Learning,
    /// The output of `gyle measure ... --json`.
    Measurement,
    /// The output of `gyle water read --json`.
    WaterReport,
    /// The output of `gyle water chlorine --json`.
    WaterChlorine,
    /// The output of `gyle water breakpoint --json`.
    WaterBreakpoint,
    /// The output of `gyle water minerals --json`.
    Minerals,
    /// The output of `gyle water dissolved --json`.
    WaterDissolved,
    /// The output of `gyle water choose --json`.
    WaterChoice,
    /// The output of `gyle water mash --json`.
    WaterMash,
    /// The output of `gyle wort lauter --json`.
    WortLauter,
    /// The output of `gyle wort correct --json`.
    WortCorrect,
    /// The tasting document.
    Tasting,
    /// The output of `gyle taste plan --json`.
    TastingPlan,
    /// The output of `gyle taste one-glass --json`.
    TastingOneGlass,
    /// The output of `gyle taste judge --json`.
    TastingResult,
    /// The output of `gyle wort malts --json` and `gyle wort hops --json`.
    IngredientTable,
    /// The output of `gyle wort mash --json`.
    WortMash,
    /// The output of `gyle wort boil --json`.
    WortBoil,
    /// The output of `gyle log ... --json`.
    Log,
    /// The output of `gyle package --json`.
    Package,
    /// The output of `gyle clean agents --json`.
    CleaningAgents,
    /// The output of `gyle clean mix --json`.
    CleaningMix,
    /// The output of `gyle clean together --json`.
    CleaningTogether,
    /// The output of `gyle inquire ... --json`.
    Inquiry,
    /// The output of `gyle inquire ... --story --json`.
    InquiryStory,
    /// The output of `gyle findings ... --json`.
    InquirySearch,
    /// The output of `gyle watch --json`.
    FermentationCourse,
    /// The output of `gyle pitch --json`.
    Pitch,
    /// The output of `gyle certainty --json`.
    Certainty,
    /// The output of `gyle steer --json`.
    Steer,
    /// The output of `gyle match --json`.
    Match,
    /// The output of `gyle move --json`.
    Move,
    /// The output of `gyle compare --json`.
    Comparison,
    /// The output of `gyle import --json`.
    RecipesRead,
    /// The output of `gyle export --json`.
    RecipeWritten,
    /// The output of `gyle list --json`.
    Batches,
    /// The output of `gyle instrument list --json`.
    Instruments,
    /// The output of `gyle device list --json`.
    Devices,
    /// The output of `gyle people list --json`.
    People,
    /// The output of `gyle study`.
    Study,
    /// The output of `gyle example --json`.
    Demos,
}

/// What can be done with the store.
#[derive(Debug, Subcommand)]
pub enum StoreCommand {
    /// Write a copy of the whole store to a new file, while others go on working.
    #[command(after_help = "Example:\n  gyle store backup gylewright-2027-03-14.db")]
    Backup {
        /// The new file.
        to: PathBuf,
    },
    /// Replace everything by a backup; what is there now is kept aside.
    #[command(after_help = "Example:\n  gyle store restore gylewright-2027-03-14.db")]
    Restore {
        /// The backup.
        from: PathBuf,
    },
    /// Look through the whole store.
    #[command(after_help = "Example:\n  gyle store check")]
    Check,
    /// Write everything as TOML and CSV into a new folder.
    #[command(after_help = "Example:\n  gyle store export my-brewing")]
    Export {
        /// The new folder.
        folder: PathBuf,
    },
    /// Take in what an export wrote.
    #[command(after_help = "Example:\n  gyle store import my-brewing")]
    Import {
        /// The folder.
        folder: PathBuf,
    },
}
