//! What a filled-in file says beside its numbers. The cautions stand where a step can hurt.

pub(super) const HEAD: &str = r#"# An aircraft file: {says}.
# Every number here is INVENTED. Replace each by what you measure; what you cannot measure yet, leave and mark.
#
# Tools: a ruler, a kitchen scale, something to balance the model on, a protractor or an angle gauge.
# Places are measured from one datum: x aft, y to the right wing, z up. What lies ahead of the datum or below it is
# negative.
# Every key ends in its unit, and you may use any unit that fits the quantity:
#   lengths mm cm m in ft          masses g kg oz lb            angles deg rad
#   speeds m_s km_h kt mph ft_s    turning rates deg_s rad_s    times s ms        pulses us ms
#   resistances ohm mohm           currents a ma                charges mah ah    forces n gf kgf ozf lbf
# A number may carry how sure it is (one standard deviation) and how it is known:
#   total_g = 1234
#   total_sd_g = 5
#   total_from = "measured"        # stated, measured, predicted or flown
# Numbers computed from this file are estimates. The law of the place, the rules of the field and an instructor come
# first.

"#;

pub(super) const SURFACES: &str = "\
# ---------------------------------------------------------------- surfaces, the main wing first
# Two stations or more from root to tip. A mirrored surface is described on its right side.

";

pub(super) const ROLE: &str = " # wing, tailplane, fin, v-tail or foreplane";
pub(super) const MIRRORED: &str = " # whether the same stands on the left side";
pub(super) const DIHEDRAL: &str = " # angle of a panel against the level, tips up positive";
pub(super) const ROOT_Z: &str =
    " # height of the root's leading edge above the datum; root_y_mm: to the right of it";
pub(super) const ALONG: &str = " # from the root outwards along the surface, not its shadow on the bench";
pub(super) const X: &str = " # leading edge, aft of the datum (or sweep_mm: aft of the root's leading edge)";
pub(super) const CHORD: &str = " # leading to trailing edge";
pub(super) const SECTION: &str = " # NACA digits, or the name of a coordinate file beside this one";
pub(super) const TWIST: &str =
    " # against the line of the fuselage, leading edge up positive (wash-out is negative)";

pub(super) const MOVABLES: &str = "\
# ---------------------------------------------------------------- what moves
# CAUTION: take the propeller off before you connect the pack to move the surfaces.

";

pub(super) const PANELS: &str =
    " # pair: a servo on each side; one: a single piece, or both sides on one servo";
pub(super) const EXTENT: &str = " # of the surface's length from its root (or inner_mm)";
pub(super) const HINGE: &str = " # of the chord from the leading edge: a movable of a quarter chord hinges at 75 (or chord_mm of the movable)";
pub(super) const THROW: &str = " # stick fully over; or throw_up_mm: how far the trailing edge goes, ruler held straight from where it was";
pub(super) const MIX: &str = " # what it answers, as a share of its throw: roll, pitch, yaw, flap; -1 to 1";
pub(super) const CHANNEL: &str = " # as your recordings call it";
pub(super) const CENTRE: &str = " # pulse with the surface at neutral";
pub(super) const TRAVEL: &str = " # change of the pulse at full throw";
pub(super) const REVERSED: &str =
    " # false: a longer pulse moves the trailing edge down (of a rudder: right)";
pub(super) const SERVO_REST: &str = "\
travel_deg = 40 # how far the arm turns for that change of pulse
speed_s_per_60deg = 0.12 # from the servo's data sheet (or speed_deg_s)
# torque_kg_cm = 1.8 # from the data sheet, at the voltage you feed it (or torque_n_cm, torque_nm)
";

pub(super) const LINKAGE: &str = "\
[movable.linkage] # leave it out where it is not measured
arm_mm = 10 # servo arm, pivot to clevis hole
horn_mm = 15 # hinge line to clevis hole
base_mm = 70 # servo pivot to hinge line
thread_pitch_mm = 0.4 # advance of the clevis in one turn: M2 has 0.4
";

pub(super) const MASSES: &str = "\
# ---------------------------------------------------------------- what weighs
# Every item that you can put on the scale, in flying order. The finer the list, the better the inertia is known.
# CAUTION: a pack that is swollen, dented or hot goes outside, away from anything that burns.

";

pub(super) const MASS: &str = " # of a pair, both together";
pub(super) const MASS_X: &str =
    " # middle of the item; y_mm and z_mm are 0 where left out; of a pair, the right one";
pub(super) const SHAPE: &str = " # box, cylinder (axis fore and aft), rod (along its longest side) or point";
pub(super) const PAIR: &str = " # one on each side; the size is of one of them";

pub(super) const WEIGHED: &str = "\
# What the scale and the balance stand say of the whole, ready to fly. It beats the sum of the items: take the marks
# away once you have measured. To measure the balance point, support the wing under both roots until the model rests
# level. CAUTION: propeller off.
#[weighed]
#total_g = 1100
#balance_x_mm = 310
#balance_z_mm = 20
# A swing on two strings gives a moment of inertia: hang the model level on two parallel strings of equal length, let
# it turn a little to and fro about the upright axis and time twenty swings.
#[weighed.swing_yaw]
#spacing_mm = 500
#length_mm = 1200
#period_s = 1.6

";

pub(super) const BODIES: &str = "\
# ---------------------------------------------------------------- bodies, nose to tail
# Centre, width and height of a few cross-sections.

";

pub(super) const DRIVE: &str = "\
# ---------------------------------------------------------------- drive; leave it all out for a glider
# CAUTION: a propeller cuts to the bone. It goes on last and comes off first. For the only bench run that needs it, the
# pull, tie the model down, stand behind the propeller, nobody in its plane or in line with it, and have a way to stop
# the motor at hand.
[drive]
speed_controller_mohm = 5
speed_controller_limit_a = 40
thrust_down_deg = 0 # pull tilted below the line of the fuselage
thrust_right_deg = 0 # pull turned to the right
pusher = {pusher} # whether the propeller is behind
spool_up_s = 0.2 # time to two thirds of the pull after the throttle is opened

[drive.propeller] # printed on it
diameter_in = 10
pitch_in = 5
blades = 2

[drive.motor] # from its data sheet
kv_rpm_v = 950
resistance_mohm = 60
no_load_a = 1.1
limit_a = 35

[drive.pack] # printed on it. CAUTION: charge it watched, on something that does not burn.
cells = 3
capacity_mah = {capacity}
resistance_mohm = {resistance} # of the whole pack: voltage drop over current
limit_a = 60

{hub}
# One table a throttle setting that you measured on the bench; see the caution above.
#[[drive.bench]]
#throttle = 1.0
#voltage_v = 11.1
#current_a = 25.0
#speed_rpm = 8400
#pull_gf = 1150

";

pub(super) const DRAGS: &str = "\
# ---------------------------------------------------------------- what else stands in the wind
# Wheels, legs, wires, openings, gaps at the hinges: each is small, together they are felt.

";

pub(super) const KIND: &str =
    " # wheel, faired wheel, strut, faired strut, wire, plate, box, open hole or hinge gap";
pub(super) const ACROSS: &str = " # of one, as seen from ahead; of a rod or gap its length and its thickness";

pub(super) const START: &str = "\
# ---------------------------------------------------------------- how a flight begins
# CAUTION: whoever throws keeps hand and face away from the propeller; with a propeller behind, the motor starts only
# after the model has left the hand. A rolling start needs a free strip ahead and nobody beside it.
[start]
";

pub(super) const SETTINGS: &str = "\
# ---------------------------------------------------------------- the stabilising controller and how it is set
[controller]
mounting_pitch_deg = 0 # the angle that it is set to take away from its own reading, nose up positive
mounting_roll_deg = 0
loop_hz = 500
delay_ms = 15 # from gyro to servo pulse
largest_rate_roll_deg_s = {roll} # full stick where it commands a turning rate: no more than the throws give
largest_rate_pitch_deg_s = {pitch}
largest_rate_yaw_deg_s = {yaw} # little: with the wings level a rudder slips the model more than it turns it
largest_angle_roll_deg = 45 # full stick where it commands an attitude
largest_angle_pitch_deg = 30
failsafe_throttle = 0 # held when the radio link is lost

# Positions of the switch, in your words.
[[controller.switch]]
name = \"1\"
acts = \"direct\" # straight to the surfaces

[[controller.switch]]
name = \"2\"
acts = \"rate\" # the stick commands a turning rate

[[controller.switch]]
name = \"3\"
acts = \"level\" # the stick commands an attitude

# ---------------------------------------------------------------- what it may not do
[limits]
never_exceed_m_s = 28 # what the structure is good for
load_factor = 5
height_m = 100 # what the law and the field allow
distance_m = 300 # how far you still see which way it flies
wind_m_s = 6
reserve = 0.3 # share of the pack that stays in it

# ---------------------------------------------------------------- how carefully it was measured
[care]
lengths = \"ruler\" # or plan, guessed
throws = \"ruler\" # or gauge, guessed
weights = \"scale\" # or guessed
";
