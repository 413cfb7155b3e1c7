// Bracket for a reflective sensor beside a spinning body.
//
// Three printed parts: a foot that slides and turns under one bench screw or a clamp, a carrier that slides up
// and down and tilts on one M4 bolt, and a hood, held behind the carrier's plate, that shades the coupler.
//
// Axes as built: X points at the body, Y along the body's motion, Z up. Lengths in mm, angles in degrees.
// Print each part as it lies with part = "foot", "carrier" or "hood"; none needs supports.

/* [What to show] */
part = "assembly";         // [assembly, foot, carrier, hood, plate]
show_body = true;          // a body, a sensor board and a bolt in the assembly, to judge by; never printed
with_hood = true;

/* [Sensor board: measure yours] */
board_across = 32;         // along Y
board_up = 14;             // along Z
board_thickness = 1.6;
board_rim_room = 0.4;      // between the board's long edges and the rails that keep it from turning
hole_spacing_across = 0;   // between hole centres along Y; 0 where the holes lie in one column
hole_spacing_up = 0;       // between hole centres along Z; 0 where they lie in one row; both 0: one hole
hole_offset_across = 3;    // middle of the hole pattern from the middle of the board, + away from the cheek
hole_offset_up = 0;
screw_pilot = 2.6;         // M3 cuts its own thread in plastic; 2.1 for M2.5
boss_diameter = 6.5;
stand_off = 5;             // from the plate's back to the board

/* [Coupler on the board] */
coupler_across = 5.8;      // outside of the housing along Y
coupler_up = 10.2;         // along Z: emitter above receiver, so that both meet a mark's edge together
coupler_height = 7;        // from the board to the coupler's face
coupler_offset_across = -10; // its middle from the middle of the board, - towards the cheek
coupler_offset_up = 0;
coupler_room = 0.5;        // all round, between coupler and hood or window

/* [Hood] */
hood_wall = 1.2;
hood_play = 0.2;           // between the hood's rim and the board that holds it against the plate
hood_rim_width = 1.6;      // on two sides of the hood
hood_beyond_face = 3;      // how far the hood reaches past the coupler's face
hood_fit = 0.2;            // play in the window, all round

/* [Carrier] */
plate_thickness = 4;
cheek_thickness = 5;
rail_thickness = 2.4;
reach = 34;                // from the tilt bolt to the plate's front
tilt = 12;                 // shown in the assembly; set at the bench by the bolt; + looks down
end_room = 1.5;            // between cheek and board

/* [Foot] */
base_length = 100;         // along X
base_width = 56;           // along Y
base_thickness = 5;
base_corner = 6;
upright_height = 90;       // above the bench
upright_width = 30;        // along X
upright_thickness = 6;
rib_thickness = 4;
rib_depth = 20;            // along Y at the base
rib_depth_top = 7;
front_margin = 4;          // base in front of the upright
bolt_hole = 4.5;           // M4 with play
bolt_washer = 12;          // outside diameter of the widest washer or nut used
slot_low = 20;             // lowest bolt centre above the bench
slot_high = 80;            // highest
base_slot_travel = 30;     // clearance adjustment under the bench screw
foot_fixing = "both";      // [screw, clamp, both]
clamp_pad = 18;            // plain length at the rear for a clamp's jaw
tie_slot = [3, 6];         // for a cable tie: along X, along Z

/* [Position shown] */
bolt_height = 46;
clearance = 6;             // from the coupler's face to the body
body_radius = 30;

$fn = 64;
eps = 0.01;

// ---- what follows from the above
plate_height = board_up + 2 * (board_rim_room + rail_thickness);
plate_width = cheek_thickness + end_room + board_across + 1.5;
disc_radius = max(bolt_washer / 2 + 3, plate_height / 2);
board_mid = cheek_thickness + end_room + board_across / 2;
coupler_y = board_mid + coupler_offset_across;
face_x = reach - plate_thickness - stand_off + coupler_height;   // the coupler's face from the tilt bolt
hood_inner = [coupler_across + 2 * coupler_room, coupler_up + 2 * coupler_room];
hood_outer = hood_inner + 2 * [hood_wall, hood_wall];
window = with_hood ? hood_outer + 2 * [hood_fit, hood_fit] : hood_inner;
hood_rim = hood_outer + 2 * [hood_rim_width, 0];                 // on two sides only: boards are narrow
hood_rim_height = stand_off - hood_play;                         // fills the gap between plate and board
hood_length = coupler_height + hood_beyond_face - hood_play;
upright_mid = -upright_width / 2 - front_margin;                 // X of the bolt from the base's front edge
sensor_ahead = upright_mid + face_x;                             // how far the coupler stands before the base
holes = [for (a = hole_spacing_across > 0 ? [-0.5, 0.5] : [0], u = hole_spacing_up > 0 ? [-0.5, 0.5] : [0])
    [board_mid + hole_offset_across + a * hole_spacing_across, hole_offset_up + u * hole_spacing_up]];
sensor_shift = -face_x * sin(tilt);                              // the coupler's height above the bolt
slot_start = -base_length + clamp_length() + bolt_hole / 2 + 3;  // centre of the base slot's rear end

function clamp_length() = foot_fixing == "screw" ? 4 : clamp_pad;
function outside(hole) =                                         // a boss may not cover the window or leave the plate
    abs(hole[0] - coupler_y) >= (with_hood ? hood_rim[0] : window[0]) / 2 + boss_diameter / 2
    || abs(hole[1] - coupler_offset_up) >= (with_hood ? hood_rim[1] : window[1]) / 2 + boss_diameter / 2;

// ---- values that would not work
assert(len([for (p = ["assembly", "foot", "carrier", "hood", "plate"]) if (p == part) p]) == 1, "part: assembly, foot, carrier, hood or plate");
assert(len([for (p = ["screw", "clamp", "both"]) if (p == foot_fixing) p]) == 1, "foot_fixing: screw, clamp or both");
assert(board_across >= 10 && board_across <= 80 && board_up >= 6 && board_up <= 60, "board: 10 to 80 across, 6 to 60 up");
assert(hole_spacing_across == 0 || hole_spacing_across >= boss_diameter, "hole_spacing_across: 0 or at least a boss");
assert(hole_spacing_up == 0 || hole_spacing_up >= boss_diameter, "hole_spacing_up: 0 or at least a boss");
assert(abs(hole_offset_across) + hole_spacing_across / 2 < board_across / 2 && abs(hole_offset_up) + hole_spacing_up / 2 < board_up / 2, "holes: outside the board");
assert(screw_pilot >= 1.5 && boss_diameter >= screw_pilot + 2.4, "boss: at least 1.2 of wall round the screw");
assert(min([for (h = holes) outside(h) ? 1 : 0]) == 1, "holes: a boss meets the coupler's window; move the offsets or make the boss smaller");
assert(stand_off >= 2 && stand_off <= 20, "stand_off: 2 to 20");
assert(face_x > reach - plate_thickness, "stand_off: the coupler's face does not reach the plate's window");
assert(abs(coupler_offset_across) + hood_rim[0] / 2 <= board_across / 2 + end_room, "coupler: window meets the cheek or leaves the plate");
assert(abs(coupler_offset_up) + window[1] / 2 <= plate_height / 2 - 1.5, "coupler: less than 1.5 of plate beside the window");
assert(!with_hood || hood_rim[1] / 2 + abs(coupler_offset_up) <= plate_height / 2 - rail_thickness, "hood: its rim meets the rails");
assert(!with_hood || hood_beyond_face <= clearance - 2, "hood: closer than 2 to the body; more clearance or a shorter hood");
assert(hood_wall >= 0.8 && hood_rim_width >= 1 && hood_play >= 0 && hood_play < 1 && plate_thickness >= 3 && cheek_thickness >= 4, "walls: too thin to print well");
assert(upright_thickness >= 4 && base_thickness >= 4 && rib_thickness >= 3, "foot: too thin to stand firm");
assert(bolt_hole >= 3.2 && bolt_hole <= 6.6, "bolt_hole: M3 to M6");
assert(upright_width - 2 * rib_thickness >= bolt_washer + 6, "upright_width: no room for the nut between the ribs");
assert(slot_low - disc_radius >= base_thickness + 1, "slot_low: the cheek would meet the base");
assert(slot_high >= slot_low + 5 && slot_high + bolt_hole / 2 + 5 <= upright_height, "slot_high: at least 5 of wall above the slot");
assert(bolt_height >= slot_low && bolt_height <= slot_high, "bolt_height: outside the slot");
assert(abs(tilt) <= 45, "tilt: beyond 45 the sensor no longer faces the body");
assert(base_length - clamp_length() - upright_width - front_margin >= base_slot_travel + bolt_hole + bolt_washer / 2 + 3, "base_length: too short for the slot, the clamp pad and the upright");
assert(base_width >= 2 * (rib_depth + 4), "base_width: the ribs leave the base");
assert(sensor_ahead >= 5, "reach: the coupler must stand at least 5 before the base, or the body meets the base first");
assert(clearance >= 1 && clearance <= 15, "clearance: a reflective coupler works from 1 to about 15");

echo(str("sensor height above bench at this tilt: ", round(slot_low + sensor_shift), " to ", round(slot_high + sensor_shift), " mm"));
echo(str("coupler's face stands ", sensor_ahead, " mm before the base; clearance travel ", base_slot_travel, " mm"));

// ---- shapes
module rounded(size, r) {
    translate([r, r]) offset(r) square(size - 2 * [r, r]);
}

module slot(length, d, h) {           // along +X from the origin
    hull() for (x = [0, length]) translate([x, 0, 0]) cylinder(d = d, h = h);
}

module across(h) {                    // extrudes an XZ profile along +Y
    rotate([90, 0, 0]) mirror([0, 0, 1]) linear_extrude(h) children();
}

module foot() {
    difference() {
        union() {
            translate([-base_length, -base_width / 2, 0]) linear_extrude(base_thickness) rounded([base_length, base_width], base_corner);
            upright();
        }
        if (foot_fixing != "clamp") {
            translate([slot_start, 0, -eps]) slot(base_slot_travel, bolt_hole, base_thickness + 2 * eps);
        }
        translate([upright_mid, -eps, slot_low]) rotate([0, -90, 0]) rotate([-90, 0, 0])
            slot(slot_high - slot_low, bolt_hole, upright_thickness + 2 * eps);
        for (z = [slot_low, slot_high - tie_slot[1]])
            translate([upright_mid - upright_width / 2 + rib_thickness + 0.6, -eps, z])
                cube([tie_slot[0], upright_thickness + 2 * eps, tie_slot[1]]);
    }
}

// A channel: a web that carries the bolt slot, stiffened by two ribs with the nut between them.
module upright() {
    x0 = upright_mid - upright_width / 2;
    translate([x0, 0, 0]) across(upright_thickness)
        polygon([[0, 0], [upright_width, 0], [upright_width, upright_height - 6], [upright_width - 6, upright_height],
            [6, upright_height], [0, upright_height - 6]]);
    for (x = [x0, x0 + upright_width - rib_thickness]) translate([x, 0, 0]) rotate([90, 0, 90]) linear_extrude(rib_thickness)
        polygon([[eps, 0], [-rib_depth, 0], [-rib_depth, base_thickness], [-rib_depth_top, upright_height - 14 - rib_depth_top], [eps, upright_height - 14]]);
    // A fillet where the web meets the base, on the carrier's side.
    translate([x0, upright_thickness, base_thickness]) rotate([90, 0, 90]) linear_extrude(upright_width) polygon([[-eps, -eps], [4, -eps], [-eps, 4]]);
}

module carrier() {                    // tilt bolt at the origin, along Y
    difference() {
        union() {
            hull() {
                rotate([-90, 0, 0]) cylinder(r = disc_radius, h = cheek_thickness);
                translate([reach - plate_thickness, 0, -plate_height / 2]) cube([plate_thickness, cheek_thickness, plate_height]);
            }
            translate([reach - plate_thickness, 0, -plate_height / 2]) cube([plate_thickness, plate_width, plate_height]);
            rails();
            for (h = holes) translate([reach - plate_thickness + eps, h[0], h[1]]) rotate([0, -90, 0]) cylinder(d = boss_diameter, h = stand_off + eps);
        }
        translate([0, -eps, 0]) rotate([-90, 0, 0]) cylinder(d = bolt_hole, h = cheek_thickness + 2 * eps);
        translate([reach - plate_thickness - eps, coupler_y - window[0] / 2, coupler_offset_up - window[1] / 2])
            cube([plate_thickness + 2 * eps, window[0], window[1]]);
        for (h = holes) translate([reach + eps, h[0], h[1]]) rotate([0, -90, 0]) cylinder(d = screw_pilot, h = plate_thickness + stand_off + 3 * eps);
    }
}

module rails() {                      // stiffen the plate and keep a one-hole board from turning
    depth = stand_off + board_thickness;
    for (z = [-plate_height / 2, plate_height / 2 - rail_thickness])
        translate([reach - plate_thickness - depth, cheek_thickness - eps, z]) cube([depth + eps, plate_width - cheek_thickness + eps, rail_thickness]);
}

module hood() {                       // as printed: rim down
    linear_extrude(hood_rim_height) difference() {
        square(hood_rim, center = true);
        square(hood_inner, center = true);
    }
    linear_extrude(hood_length) difference() {
        square(hood_outer, center = true);
        square(hood_inner, center = true);
    }
}

module carrier_for_print() {          // the plate's front on the bed
    translate([0, 0, reach]) rotate([0, 90, 0]) carrier();
}

module assembly() {
    color("SteelBlue") foot();
    translate([upright_mid, upright_thickness, bolt_height]) rotate([0, tilt, 0]) {
        color("Goldenrod") carrier();
        if (with_hood) color("DimGray") translate([reach - plate_thickness - hood_rim_height, coupler_y, coupler_offset_up])
            rotate([0, 90, 0]) rotate(90) hood();
        if (show_body) stand_ins();
    }
    if (show_body) body();
}

module stand_ins() {
    color("SeaGreen") difference() {
        translate([reach - plate_thickness - stand_off - board_thickness, board_mid - board_across / 2, -board_up / 2]) cube([board_thickness, board_across, board_up]);
        for (h = holes) translate([reach, h[0], h[1]]) rotate([0, -90, 0]) cylinder(d = 3.2, h = 40);
    }
    color("Black") translate([face_x - coupler_height, coupler_y - coupler_across / 2, coupler_offset_up - coupler_up / 2]) cube([coupler_height, coupler_across, coupler_up]);
    color("Silver") rotate([-90, 0, 0]) {
        translate([0, 0, -upright_thickness - 12]) cylinder(d = 4, h = upright_thickness + cheek_thickness + 14);
        translate([0, 0, cheek_thickness]) cylinder(d = bolt_washer, h = 1);
        translate([0, 0, cheek_thickness + 1]) cylinder(d = 7, h = 3, $fn = 6);
        translate([0, 0, -upright_thickness - 1]) cylinder(d = bolt_washer, h = 1);
    }
}

module body() {
    axis = upright_mid + face_x * cos(tilt) + (clearance + body_radius) * cos(tilt);
    height = bolt_height - (face_x + clearance) * sin(tilt);
    translate([axis, upright_thickness + coupler_y, 0]) {
        color("DarkGray", 0.35) {
            translate([0, 0, height - 9]) cylinder(r = body_radius, h = 18);
            translate([0, 0, 1]) cylinder(r1 = 0.5, r2 = body_radius * 0.5, h = height - 10);
            translate([0, 0, height + 9]) cylinder(r = 4, h = 16);
        }
        color("White") translate([0, 0, height - 7]) rotate(95) rotate_extrude(angle = 60) translate([body_radius, 0]) square([0.3, 14]);
    }
}

if (part == "assembly") assembly();
if (part == "foot") foot();
if (part == "carrier") carrier_for_print();
if (part == "hood") hood();
if (part == "plate") {
    foot();
    translate([12, -base_width / 2 + 4, 0]) translate([plate_height / 2, 0, 0]) carrier_for_print();
    if (with_hood) translate([12 + plate_height + 12, 12, 0]) hood();
}
