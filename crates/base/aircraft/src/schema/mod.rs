//! What does an aircraft file say, and where is it wrong?
//!
//! The file is TOML. Every key ends in its unit, any of those that [`units`] lists for its quantity. A quantity may
//! carry its standard deviation, `<name>_sd_<unit>`, and where it comes from, `<name>_from = "measured"`. Places are
//! in the builder's frame (`numerics::frames`): x aft from the datum, y to the right wing, z up.
//!
//! | table | keys (first unit of several) |
//! |---|---|
//! | top | `format = 1`, `name`, `layout`, `datum` |
//! | `[[surface]]` | `name`, `role`, `mirrored`, `dihedral_deg`, `root_x_mm`, `root_y_mm`, `root_z_mm` |
//! | `[[surface.station]]` | `along_mm` or `y_mm` and `z_mm`; `x_mm` or `sweep_mm`; `chord_mm`, `twist_deg`, `section`, `dihedral_deg` (of the panel inboard of it) |
//! | `[[movable]]` | `name`, `surface`, `panels`, `inner_mm` or `inner_percent`, `outer_…`, `hinge_percent` or `hinge_inner_percent` and `hinge_outer_percent` or `chord_mm` or `chord_inner_mm` and `chord_outer_mm`; `throw_deg` or `throw_up_deg` and `throw_down_deg` (of a fin: `throw_left_deg`, `throw_right_deg`), each also `_mm`; `throw_at_mm`; `roll`, `pitch`, `yaw`, `flap` |
//! | `[movable.servo]`, `[movable.servo_left]` | `channel`, `centre_us`, `centre_sd_us`, `travel_us`, `travel_deg`, `reversed`, `speed_deg_s` or `speed_s_per_60deg`, `torque_kg_cm` |
//! | `[movable.linkage]` | `arm_mm`, `horn_mm`, `base_mm`, `thread_pitch_mm` |
//! | `[[mass]]` | `name`, `mass_g`, `x_mm`, `y_mm`, `z_mm`, `size_x_mm`, `size_y_mm`, `size_z_mm`, `shape`, `mirrored`, `moves_from_x_mm`, `moves_to_x_mm` |
//! | `[weighed]` | `total_g`, `balance_x_mm`, `balance_z_mm`, `inertia_roll_kg_m2`, `inertia_pitch_kg_m2`, `inertia_yaw_kg_m2` |
//! | `[weighed.scales]` | `front_g`, `front_x_mm`, `rear_g`, `rear_x_mm` |
//! | `[weighed.swing_roll]`, `…_pitch`, `…_yaw` | `spacing_mm`, `length_mm`, `period_s`, `cradle_kg_m2`, `cradle_mass_g` |
//! | `[drive]` | `speed_controller_mohm`, `speed_controller_limit_a`, `thrust_down_deg`, `thrust_right_deg`, `pusher`, `spool_up_s` |
//! | `[drive.propeller]` | `diameter_in`, `pitch_in`, `blades` |
//! | `[drive.motor]` | `kv_rpm_v`, `resistance_mohm`, `no_load_a`, `limit_a` |
//! | `[drive.pack]` | `cells`, `capacity_mah`, `resistance_mohm`, `limit_a` |
//! | `[[drive.hub]]` | `x_mm`, `y_mm`, `z_mm` |
//! | `[[drive.bench]]` | `throttle` or `throttle_percent`, `voltage_v`, `current_a`, `speed_rpm`, `pull_n` |
//! | `[[fuselage]]` | `name`, `mirrored` |
//! | `[[fuselage.station]]` | `x_mm`, `y_mm`, `z_mm`, `width_mm` and `height_mm` or `diameter_mm` |
//! | `[controller]` | `mounting_pitch_deg`, `mounting_roll_deg`, `loop_hz`, `delay_ms`, `largest_rate_roll_deg_s`, `…_pitch…`, `…_yaw…`, `largest_angle_roll_deg`, `…_pitch…`, `level_per_s`, `reference_speed_m_s`, `failsafe_throttle` |
//! | `[controller.gains.roll]`, `.pitch`, `.yaw` | `feed_forward_s`, `proportional_s`, `integral`, `derivative_s2` |
//! | `[[controller.switch]]` | `name`, `acts` |
//! | `[limits]` | `never_exceed_m_s`, `load_factor`, `height_m`, `distance_m`, `wind_m_s`, `gust_spread_m_s`, `cross_wind_m_s`, `visibility_m`, `cloud_base_m`, `coldest_c`, `hottest_c`, `cruise_m_s`, `reserve`, `stall_m_s` |
//! | `[care]` | `lengths`, `throws`, `weights`; `length_sd_mm`, `throw_sd_deg`, `cl_max_sd`, `drag_sd`, `thrust_sd` |
//! | `[[drag]]` | `name`, `count`, `drag_area_cm2` or `width_mm`, `height_mm` and `kind` |
//! | `[start]` | `how`, `throw_speed_m_s`, `height_m`, `ground`, `run_m` |
//! | `[flown]` | `drag_factor`, `lift_factor`, `control_factor_roll`, `control_factor_pitch`, `control_factor_yaw`, `thrust_factor` |

mod bodies;
mod checks;
pub mod drive;
mod extras;
mod fault;
pub mod masses;
pub mod movables;
mod remarks;
pub mod section_file;
mod sensible;
pub mod settings;
mod sheet;
mod surfaces;
pub mod units;

use fault::Notes;
use sheet::Sheet;

pub use fault::Fault;
pub use remarks::remarks;

use crate::{Aircraft, Layout};

/// The only version of the format so far.
const FORMAT: u32 = 1;

/// Reads an aircraft file. `section_file` gives the text of a coordinate file by the name that the aircraft file
/// uses.
///
/// # Errors
/// With everything that is wrong in the file, sorted by place. A syntax error hides what comes after it.
pub fn read(text: &str, section_file: &dyn Fn(&str) -> Option<String>) -> Result<Aircraft, Vec<Fault>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let notes = Notes::new(text);
    let document = match toml_edit::Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let place = error.span().unwrap_or(0..0);
            let problem = format!("not TOML: {}", error.message().trim().replace('\n', "; "));
            notes.fault(
                &place,
                problem,
                "mend this first: what follows it could not be read; a line is key = value, a table name stands in \
                 [brackets], text in \"quotes\"",
            );
            return Err(notes.into_faults());
        }
    };
    let sheet = Sheet::new(&notes, document.as_table(), 0..0, "the file");
    let aircraft = read_all(&sheet, section_file);
    sheet.finish();
    match aircraft {
        Some(aircraft) if notes.is_clean() => Ok(aircraft),
        _ => Err(notes.into_faults()),
    }
}

fn read_all(sheet: &Sheet<'_>, section_file: &dyn Fn(&str) -> Option<String>) -> Option<Aircraft> {
    let _ = sheet.needed_whole("format", FORMAT, FORMAT, "write format = 1 at the top");
    let name = sheet.needed_text("name", "what do you call the aircraft? name = \"…\"");
    let datum = sheet.needed_text("datum", "what do you measure from? datum = \"tip of the nose\"");
    let layouts = Layout::ALL;
    let layout =
        sheet.word("layout", &layouts, None, "how are the surfaces arranged? layout = \"conventional\"");
    let surfaces = surfaces::read(sheet.tables("surface", "[[surface]]"), section_file);
    let movables = movables::read(sheet.tables("movable", "[[movable]]"), &surfaces);
    let care = settings::read_care(sheet.table("care", "[care]"));
    let masses = masses::read(sheet.tables("mass", "[[mass]]"), care.weights);
    let items_kg = masses.iter().filter_map(|m| m.item.as_ref()).map(|i| i.mass_kg.value).sum();
    let weighed = masses::read_weighed(sheet.table("weighed", "[weighed]"), items_kg, care.weights);
    let drive_sheet = sheet.table("drive", "[drive]");
    let has_drive = drive_sheet.is_some();
    let drive = drive::read(drive_sheet);
    let bodies = bodies::read(sheet.tables("fuselage", "[[fuselage]]"));
    let controller = settings::read_controller(sheet.table("controller", "[controller]"));
    let limits = settings::read_limits(sheet.table("limits", "[limits]"));
    let flown = settings::read_flown(sheet.table("flown", "[flown]"));
    let drags = extras::read_drags(sheet.tables("drag", "[[drag]]"));
    let start = extras::read_start(sheet.table("start", "[start]"));
    checks::check(
        sheet.notes,
        &checks::Whole {
            layout: layout.zip(sheet.place_of("layout")),
            surfaces: &surfaces,
            movables: &movables,
            masses: &masses,
            bodies: &bodies,
            weighed: weighed.as_ref(),
            drags: &drags,
            drive: drive.as_ref(),
        },
    );
    if has_drive && drive.is_none() {
        return None;
    }
    Some(Aircraft {
        name: name?.text,
        layout: layout?,
        datum: datum?.text,
        surfaces: surfaces.into_iter().map(|r| r.surface).collect::<Option<_>>()?,
        movables: movables.into_iter().map(|r| r.movable).collect::<Option<_>>()?,
        masses: masses.into_iter().map(|r| r.item).collect::<Option<_>>()?,
        weighed: weighed.map(|w| w.weighed),
        drive,
        fuselages: bodies.into_iter().map(|r| r.fuselage).collect::<Option<_>>()?,
        controller,
        limits,
        flown,
        care,
        drags: drags.into_iter().map(|r| r.drag).collect::<Option<_>>()?,
        start,
    })
}
