//! `ampledger design`.

use std::path::{Path, PathBuf};

use super::{Exit, Failure, Screen, complete, no_such_visit, relative_to, today, unreadable_visit};
use crate::book::Book;
use crate::design::{self, Design, Flags, Refused};
use crate::record::{CpcKind, DcDetection, Earthing, MakeUp, Num, Ocpd, RcdType, Use};
use crate::render::{self, one_line};
use crate::rules::nearest;
use crate::rules::view::{CircuitView, JobView, SiteView};
use crate::tables::Edition;

/// Work through the design of a circuit, line by line: formula, numbers, result, limit, source and verdict.
///
/// JOB is a visit, as SITE/VISIT or as the path of its file. Facts come from the visit, from what earlier visits know, and from site.md.
/// Without --circuit every circuit of the visit with a device and a cable is worked. Without JOB the flags describe one circuit. With
/// JOB they are tried in place of the record's values, and each is marked; nothing is written.
///
/// Verdicts: pass, fails, not worked (with what is missing), and expected for a figure without a limit, such as what a meter should
/// read. It compares figures and certifies nothing. The current printed standard and the designer's own judgement decide.
///
/// Exit status: 0 when every check that could be worked passes, 1 when one fails, 2 when the command could not do its work.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "Examples:
  ampledger design elm-row/2026-11-02-shed
  ampledger design elm-row/2026-11-02-shed --circuit main/1 --line 10
  ampledger design --use ev --design-a 32 --device \"BS EN 61009-1 B40\" \\
    --cable armoured-90 --line 6 --cpc core --length 28 --method C \\
    --earthing TN-C-S --ze 0.20")]
pub struct Args {
    /// The visit: SITE/VISIT, or its file.
    #[arg(add = complete::job())]
    job: Option<String>,
    /// Only this circuit of the visit, such as shed/1.
    #[arg(long, value_name = "ID", requires = "job", add = complete::circuit_of_job())]
    circuit: Option<String>,
    /// The book, or any folder in it.
    #[arg(long, value_name = "PATH", default_value = ".")]
    book: PathBuf,
    /// The edition whose limits hold [default: the visit's; without a visit, the one in force].
    #[arg(long, value_name = "EDITION", value_parser = parse_edition)]
    edition: Option<Edition>,
    /// How the working is written.
    #[arg(long, value_name = "FORM", default_value = "human")]
    format: Format,
    #[command(flatten)]
    values: Values,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    /// Line by line, for people.
    Human,
    /// One JSON object, version 1.
    Json,
}

/// The circuit's values, each named after the key of the record.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "The circuit")]
struct Values {
    /// What it is used for: ev, ring, sockets, lighting, fixed, heating, sub-main.
    #[arg(long = "use", value_name = "USE", value_parser = parse_word::<Use>, add = complete::words(Use::ALL))]
    usage: Option<Use>,
    /// Design current Ib, A.
    #[arg(long, value_name = "A", value_parser = parse_above_zero)]
    design_a: Option<f64>,
    /// Overcurrent device, as in "BS EN 61009-1 B40" or "BS 88-3 32 A".
    #[arg(long, value_name = "DEVICE", value_parser = design::parse_device)]
    device: Option<Ocpd>,
    /// Its breaking capacity, kA.
    #[arg(long, value_name = "KA", value_parser = parse_above_zero)]
    breaking_ka: Option<f64>,
    /// Its let-through energy, A2s, from the maker's sheet.
    #[arg(long, value_name = "A2S", value_parser = parse_above_zero)]
    let_through: Option<f64>,
    /// Type of the RCD: AC, A, F, B.
    #[arg(long, value_name = "TYPE", value_parser = parse_word::<RcdType>, add = complete::words(RcdType::ALL))]
    rcd_type: Option<RcdType>,
    /// Rated residual operating current of the RCD, mA.
    #[arg(long, value_name = "MA", value_parser = parse_above_zero)]
    trip_ma: Option<f64>,
    /// The RCD gives the fault protection, as it does on TT.
    #[arg(long)]
    rcd_gives_fault_protection: bool,
    /// Where 6 mA d.c. is detected: in-unit, separate, type-b, none.
    #[arg(long, value_name = "WHERE", value_parser = parse_word::<DcDetection>, add = complete::words(DcDetection::ALL))]
    dc_detection: Option<DcDetection>,
    /// Make-up of the cable: flat-70, singles-70, multicore-70, multicore-90, armoured-70, armoured-90.
    #[arg(long, value_name = "MAKE_UP", value_parser = parse_word::<MakeUp>, add = complete::words(MakeUp::ALL))]
    cable: Option<MakeUp>,
    /// Line conductor, mm2.
    #[arg(long, value_name = "MM2", value_parser = parse_above_zero)]
    line: Option<f64>,
    /// Protective conductor: core, armour, conduit.
    #[arg(long, value_name = "WHAT", value_parser = parse_word::<CpcKind>, add = complete::words(CpcKind::ALL))]
    cpc: Option<CpcKind>,
    /// Size of the protective conductor, mm2 [default: as the cable is usually made].
    #[arg(long, value_name = "MM2", value_parser = parse_above_zero)]
    cpc_mm2: Option<f64>,
    /// Number of cores.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=100))]
    cores: Option<u32>,
    /// Length one way, m; of a ring, once round.
    #[arg(long, value_name = "M", value_parser = parse_above_zero)]
    length: Option<f64>,
    /// Reference method: A, B, C, D, E, 100 to 103.
    #[arg(long, value_name = "METHOD", value_parser = parse_method)]
    method: Option<String>,
    /// Ambient temperature, C.
    #[arg(long, value_name = "C", value_parser = parse_above_zero)]
    ambient: Option<f64>,
    /// Circuits grouped together, this one included.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=100))]
    grouped: Option<u32>,
    /// Grouped circuits lie in one layer, touching; else they are taken as bunched.
    #[arg(long)]
    single_layer: bool,
    /// Length of run surrounded by thermal insulation, mm.
    #[arg(long, value_name = "MM", value_parser = parse_above_zero)]
    insulation: Option<f64>,
    /// What the terminals at both ends allow, C: 70 or 90 [default: 70].
    #[arg(long, value_name = "C", value_parser = clap::builder::PossibleValuesParser::new(["70", "90"]))]
    terminal_c: Option<String>,
    /// Earthing system: TN-S, TN-C-S, TT, IT.
    #[arg(long, value_name = "SYSTEM", value_parser = parse_word::<Earthing>, add = complete::words(Earthing::ALL), help_heading = "The supply")]
    earthing: Option<Earthing>,
    /// Loop impedance at the origin, ohm.
    #[arg(long, value_name = "OHM", value_parser = parse_above_zero, help_heading = "The supply")]
    ze: Option<f64>,
    /// Earth electrode, ohm.
    #[arg(long, value_name = "OHM", value_parser = parse_above_zero, help_heading = "The supply")]
    electrode: Option<f64>,
    /// Prospective fault current at the board, kA.
    #[arg(long, value_name = "KA", value_parser = parse_above_zero, help_heading = "The supply")]
    ipf_ka: Option<f64>,
    /// Loaded phases: 1 or 3.
    #[arg(long, value_name = "COUNT", value_parser = clap::builder::PossibleValuesParser::new(["1", "3"]), help_heading = "The supply")]
    phases: Option<String>,
    /// Maximum demand with this circuit, A.
    #[arg(long, value_name = "A", value_parser = parse_above_zero, help_heading = "The supply")]
    max_demand: Option<f64>,
    /// Service cut-out, A.
    #[arg(long, value_name = "A", value_parser = parse_above_zero, help_heading = "The supply")]
    cutout: Option<f64>,
}

impl Values {
    fn into_flags(self) -> Flags {
        Flags {
            usage: self.usage,
            design_a: self.design_a,
            device: self.device,
            breaking_ka: self.breaking_ka,
            rcd_type: self.rcd_type,
            trip_ma: self.trip_ma,
            rcd_gives_fault_protection: self.rcd_gives_fault_protection,
            dc_detection: self.dc_detection,
            make_up: self.cable,
            cores: self.cores,
            line_mm2: self.line,
            cpc: self.cpc,
            cpc_mm2: self.cpc_mm2,
            length_m: self.length,
            method: self.method,
            ambient_c: self.ambient,
            grouped: self.grouped,
            insulation_mm: self.insulation,
            earthing: self.earthing,
            ze_ohm: self.ze,
            electrode_ohm: self.electrode,
            ipf_ka: self.ipf_ka,
            phases: self.phases.and_then(|phases| phases.parse().ok()),
            max_demand_a: self.max_demand,
            cutout_a: self.cutout,
            single_layer: self.single_layer,
            terminal_c: self.terminal_c.and_then(|celsius| celsius.parse().ok()),
            let_through_a2s: self.let_through,
        }
    }
}

/// Runs the command.
pub fn run(args: Args, screen: &mut Screen) -> Result<Exit, Failure> {
    let flags = args.values.into_flags();
    let (designs, refused) = match &args.job {
        None if !flags.describe_a_circuit() => {
            let help = "Name one, as in `ampledger design elm-row/2026-11-02-shed`, or describe a circuit with at least --device and --cable; \
                        `ampledger design --help` shows how.";
            return Err(Failure::new("no visit and no circuit to design", help));
        }
        None => (vec![design::design(flags.alone(args.edition.unwrap_or_else(|| Edition::in_force_on(today()))))], Vec::new()),
        Some(job) => by_record(job, args.circuit.as_deref(), &args.book, args.edition, &flags)?,
    };
    match args.format {
        Format::Human if designs.is_empty() => {}
        Format::Human => screen.print(&render::design(&designs, screen.look().width)),
        Format::Json => screen.print(&render::design_json(&designs)),
    }
    for Refused { message, help } in &refused {
        screen.fail(&Failure::new(message.clone(), help.clone()));
    }
    Ok(exit(&designs, refused.is_empty()))
}

fn exit(designs: &[Design], all_read: bool) -> Exit {
    let summaries: Vec<_> = designs.iter().map(Design::summary).collect();
    if !all_read || summaries.iter().any(|summary| summary.pass + summary.fails == 0) {
        return Exit::Failed;
    }
    if summaries.iter().any(|summary| summary.fails > 0) { Exit::Found } else { Exit::Clean }
}

type Worked = (Vec<Design>, Vec<Refused>);

fn by_record(job: &str, circuit: Option<&str>, book: &Path, edition: Option<Edition>, flags: &Flags) -> Result<Worked, Failure> {
    let (book, site, visit) = find_visit(job, book)?;
    let files = book.site(&site).ok_or_else(|| Failure::new(format!("this book has no site {}", one_line(&site)), ""))?;
    let (records, _) = book.read_site(files);
    let view = SiteView::new(&book, &records, today());
    let unread = || unreadable_visit(&book, &format!("sites/{site}/{visit}.md"));
    let job = view.job(&visit).filter(|job| !job.record.lost).ok_or_else(unread)?;
    let circuits = chosen(job, circuit)?;
    if circuits.len() > 1 && flags.describe_one_circuit() {
        let ids: Vec<&str> = circuits.iter().map(|circuit| circuit.id()).collect();
        let help = format!("Name it with --circuit: {}.", one_line(&ids.join(", ")));
        return Err(Failure::new("these flags speak of one circuit, and the visit has several", help));
    }
    let (mut designs, mut refused) = (Vec::new(), Vec::new());
    for circuit in circuits {
        let edition = edition.or(job.edition()).unwrap_or_else(|| Edition::in_force_on(today()));
        match design::given_by_record(circuit, edition) {
            Ok(mut given) => {
                flags.put_into(&mut given);
                designs.push(design::design(given));
            }
            Err(why) => refused.push(why),
        }
    }
    Ok((designs, refused))
}

/// The book, the site and the visit that a name or a path means.
fn find_visit(job: &str, book: &Path) -> Result<(Book, String, String), Failure> {
    let path = Path::new(job);
    let root = if path.is_file() { Book::find_root(path)? } else { Book::find_root(book)? };
    let book = Book::open(&root)?;
    let inside = if path.is_file() { relative_to(&book.root, path).unwrap_or_default() } else { job.to_owned() };
    let plain = inside.strip_prefix("sites/").unwrap_or(&inside);
    let reference = plain.strip_suffix(".md").unwrap_or(plain);
    if book.has_job(reference)
        && let Some((site, visit)) = reference.split_once('/')
    {
        let (site, visit) = (site.to_owned(), visit.to_owned());
        return Ok((book, site, visit));
    }
    Err(no_such_visit(&book, reference))
}

/// The circuits to work: the one that is named, or all that are designed.
fn chosen<'a>(job: JobView<'a>, wanted: Option<&str>) -> Result<Vec<CircuitView<'a>>, Failure> {
    let ids: Vec<&str> = job.circuits().map(|circuit| circuit.id()).filter(|id| !id.is_empty()).collect();
    let has = match ids.is_empty() {
        true => "The visit records no circuit.".to_owned(),
        false => format!("It has {}.", one_line(&ids.join(", "))),
    };
    if let Some(wanted) = wanted {
        let circuit = job.circuit(wanted).ok_or_else(|| {
            let near = nearest(wanted, ids.iter().copied()).map_or(String::new(), |near| format!("Did you mean {}? ", one_line(near)));
            Failure::new(format!("{} has no circuit {}", job.id(), one_line(wanted)), format!("{near}{has}"))
        })?;
        return Ok(vec![circuit]);
    }
    let designed: Vec<CircuitView<'a>> = job.circuits().filter(|circuit| design::is_designed(*circuit)).collect();
    if designed.is_empty() {
        let help = format!("{has} Write `ocpd` and `cable` of the circuit, or describe it with flags: `ampledger design --help`.");
        return Err(Failure::new(format!("{} has no circuit with a device and a cable", job.id()), help));
    }
    Ok(designed)
}

/// A word of the record format.
trait Word: Copy + 'static + std::str::FromStr {
    const NAME: &'static str;
    fn words() -> Vec<&'static str>;
}

macro_rules! word {
    ($($of:ident $name:literal),+) => {
        $(impl Word for $of {
            const NAME: &'static str = $name;
            fn words() -> Vec<&'static str> {
                $of::ALL.iter().map(|word| word.as_str()).collect()
            }
        })+
    };
}

word!(Use "a use", RcdType "a type", DcDetection "where it is detected", MakeUp "a make-up", CpcKind "a protective conductor", Earthing "an earthing system");

fn parse_word<T: Word>(text: &str) -> Result<T, String> {
    text.parse().map_err(|_| {
        let near = nearest(text, T::words()).map_or(String::new(), |near| format!("; did you mean {near}?"));
        format!("{} is one of {}{near}", T::NAME, T::words().join(", "))
    })
}

fn parse_above_zero(text: &str) -> Result<f64, String> {
    let number: Option<Num> = text.parse().ok();
    let within = number.map(|number| *number).filter(|number| *number > 0.0 && *number <= 1e9);
    within.ok_or_else(|| "a plain number above 0, without its unit, as in 32 or 0.20".to_owned())
}

fn parse_method(text: &str) -> Result<String, String> {
    const METHODS: [&str; 9] = ["A", "B", "C", "D", "E", "100", "101", "102", "103"];
    let method = text.to_ascii_uppercase();
    let known = METHODS.contains(&method.as_str());
    if known { Ok(method) } else { Err(format!("a reference method is one of {}", METHODS.join(", "))) }
}

fn parse_edition(text: &str) -> Result<Edition, String> {
    let by_year = || text.parse::<u16>().ok().and_then(|year| Edition::try_from(year).ok());
    Edition::parse(text).or_else(by_year).ok_or_else(|| {
        let all: Vec<String> = Edition::ALL.iter().map(ToString::to_string).collect();
        format!("an edition is cited as one of {}", all.join(", "))
    })
}
