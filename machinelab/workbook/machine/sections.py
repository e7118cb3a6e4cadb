"""The sections of ``machine.toml``: what each line becomes, and which lines cannot stand together."""

from collections.abc import Mapping
from fractions import Fraction
from typing import ClassVar, Literal

from pydantic import Field, model_validator

from machinelab.threads.form import Thread
from machinelab.workbook.machine.lines import Section, line, refused
from machinelab.workbook.machine.named_thread import contradiction, named_thread, with_what_it_is_called

Hand = Literal["right", "left"]


class About(Section):
    """What the machine is."""

    title: ClassVar[str] = "The machine"

    name: str | None = line("machine.name")
    description: str | None = line("machine.description")
    notes: str | None = line("machine.notes")


class Lathe(Section):
    """What fits into the machine."""

    title: ClassVar[str] = "Room for the work"

    swing_mm: float | None = line("lathe.swing")
    between_centres_mm: float | None = line("lathe.between_centres")
    spindle_bore_mm: float | None = line("lathe.spindle_bore")


class Spindle(Section):
    """The lathe spindle and what is on its nose."""

    title: ClassVar[str] = "Spindle"

    nose: Literal["screw-on", "cam lock", "flange", "taper", "not known"] | None = line("spindle.nose")
    highest_speed_rpm: float | None = line("spindle.highest_speed")
    lowest_speed_rpm: float | None = line("spindle.lowest_speed")
    chuck_highest_speed_rpm: float | None = line("spindle.chuck_highest_speed")
    chuck_diameter_mm: float | None = line("spindle.chuck_diameter")
    chuck_mass_kg: float | None = line("spindle.chuck_mass")
    inertia_kg_m2: float | None = line("spindle.inertia")

    @model_validator(mode="after")
    def _chuck_is_not_overrun(self):
        fastest, marked = self.highest_speed_rpm, self.chuck_highest_speed_rpm
        if fastest is not None and marked is not None and fastest > marked:
            raise refused(
                f"the highest speed you allow, {fastest:g} rpm, is above the {marked:g} rpm marked on the "
                "chuck. Read the chuck again, and allow no more than it is made for."
            )
        return self


class Motor(Section):
    """The spindle motor and its drive."""

    title: ClassVar[str] = "Spindle motor and drive"

    supply_v: float | None = line("motor.supply")
    current_a: float | None = line("motor.current")
    rated_speed_rpm: float | None = line("motor.rated_speed")
    highest_speed_rpm: float | None = line("motor.highest_speed")
    armature_resistance_ohm: float | None = line("motor.armature_resistance")
    back_emf_v_s_per_rad: float | None = line("motor.back_emf")
    brush_drop_v: float | None = line("motor.brush_drop")
    inertia_kg_m2: float | None = line("motor.inertia")
    commutator_bars: int | None = line("motor.commutator_bars")
    drive: Literal["smoothed", "switched", "phase-controlled", "not known"] | None = line("motor.drive")
    drive_current_a: float | None = line("motor.drive_current")


class SpindleDrive(Section):
    """The belt or gears between motor and spindle."""

    title: ClassVar[str] = "Belt from motor to spindle"

    belt: Literal["ribbed", "V", "flat", "round", "toothed", "gears", "none"] | None = line(
        "spindle_drive.belt"
    )
    motor_pulley_mm: Fraction | None = line("spindle_drive.motor_pulley")
    spindle_pulley_mm: Fraction | None = line("spindle_drive.spindle_pulley")
    motor_teeth: int | None = line("spindle_drive.motor_teeth")
    spindle_teeth: int | None = line("spindle_drive.spindle_teeth")
    belt_length_mm: float | None = line("spindle_drive.belt_length")
    centre_distance_mm: float | None = line("spindle_drive.centre_distance")
    slip_torque_nm: float | None = line("spindle_drive.slip_torque")

    @property
    def ratio_paths(self) -> tuple[str, ...]:
        """The lines that its ratio needs."""
        if self.belt == "none":
            return ()
        if self.belt in ("toothed", "gears") or self.motor_teeth or self.spindle_teeth:
            return ("spindle_drive.motor_teeth", "spindle_drive.spindle_teeth")
        return ("spindle_drive.motor_pulley", "spindle_drive.spindle_pulley")

    @property
    def can_slip(self) -> bool:
        """Whether it is a belt without teeth."""
        return self.belt not in ("toothed", "gears", "none")

    @model_validator(mode="after")
    def _ratio_is_given_once(self):
        if (self.motor_pulley_mm or self.spindle_pulley_mm) and (self.motor_teeth or self.spindle_teeth):
            raise refused(
                "the ratio is given twice, by diameters and by teeth. Keep the teeth for a toothed belt or "
                "gears, the diameters for any other belt, and take the other two lines out."
            )
        return self


class Encoder(Section):
    """The encoder that tells the controller where the spindle is."""

    title: ClassVar[str] = "Spindle encoder"

    lines: int | None = line("encoder.lines")
    drive: Literal["direct", "toothed belt", "gears", "round belt", "V belt", "friction"] | None = line(
        "encoder.drive"
    )
    spindle_teeth: int | None = line("encoder.spindle_teeth")
    encoder_teeth: int | None = line("encoder.encoder_teeth")
    highest_channel_hz: float | None = line("encoder.highest_channel_rate")
    highest_edge_hz: float | None = line("encoder.highest_edge_rate")

    @property
    def ratio_paths(self) -> tuple[str, ...]:
        """The lines that its ratio needs."""
        return () if self.drive == "direct" else ("encoder.spindle_teeth", "encoder.encoder_teeth")

    @property
    def teeth(self) -> tuple[int | None, int | None]:
        """Teeth on the spindle and on the encoder; one to one for an encoder that sits straight on it."""
        return (1, 1) if self.drive == "direct" else (self.spindle_teeth, self.encoder_teeth)

    @model_validator(mode="after")
    def _direct_has_no_ratio(self):
        if self.drive == "direct" and self.spindle_teeth != self.encoder_teeth:
            raise refused(
                "an encoder straight on the spindle turns one to one, but the teeth say otherwise. "
                "Take the teeth out, or name what drives it."
            )
        return self


class Meter(Section):
    """The speed display."""

    title: ClassVar[str] = "RPM meter"

    fitted: bool | None = line("meter.fitted")
    marks_per_turn: int | None = line("meter.marks_per_turn")
    update_period_s: float | None = line("meter.update_period")
    lag_s: float | None = line("meter.lag")
    resolution_rpm: float | None = line("meter.resolution")
    cutoff_rpm: float | None = line("meter.cutoff")


class Brake(Section):
    """The resistor brake."""

    title: ClassVar[str] = "Resistor brake"

    fitted: bool | None = line("brake.fitted")
    resistor_ohm: float | None = line("brake.resistor")
    resistor_rating_w: float | None = line("brake.resistor_rating")
    contact_delay_s: float | None = line("brake.contact_delay")
    contact_makes_a: float | None = line("brake.contact_makes")

    @model_validator(mode="after")
    def _no_brake_has_no_resistor(self):
        if self.fitted is False and self.resistor_ohm is not None:
            raise refused(
                "there is said to be no brake, yet a resistor is given. Change one of the two lines."
            )
        return self


class Mains(Section):
    """What feeds the machine."""

    title: ClassVar[str] = "Mains, fuse and wire"

    voltage_v: float | None = line("mains.voltage")
    frequency_hz: float | None = line("mains.frequency")
    fuse_a: float | None = line("mains.fuse")
    wire_mm2: float | None = line("mains.wire")


class Bus(Section):
    """The capacitors in the drive that stay charged."""

    title: ClassVar[str] = "Capacitors of the drive"

    voltage_v: float | None = line("bus.voltage")
    capacitance_f: float | None = line("bus.capacitance")
    bleed_resistor_ohm: float | None = line("bus.bleed_resistor")


class MillHead(Section):
    """The mill head and its own motor."""

    title: ClassVar[str] = "Mill head"

    supply_v: float | None = line("mill_head.supply")
    current_a: float | None = line("mill_head.current")
    highest_speed_rpm: float | None = line("mill_head.highest_speed")
    lowest_speed_rpm: float | None = line("mill_head.lowest_speed")
    motor_turns_per_turn: Fraction | None = line("mill_head.motor_turns_per_turn")
    back_emf_v_s_per_rad: float | None = line("mill_head.back_emf")
    armature_resistance_ohm: float | None = line("mill_head.armature_resistance")


class Leadscrew(Section):
    """The leadscrew and how true it is."""

    title: ClassVar[str] = "Leadscrew"

    lead_mm: Fraction | None = line("leadscrew.lead")
    hand: Hand | None = line("leadscrew.hand")
    kind: Literal["trapezoidal", "Acme", "square", "ball", "not known"] | None = line("leadscrew.kind")
    diameter_mm: float | None = line("leadscrew.diameter")
    length_mm: float | None = line("leadscrew.length")
    lead_error_ppm: float | None = line("leadscrew.lead_error")
    friction: float | None = line("leadscrew.friction")


class Stepper(Section):
    """The stepper that turns the leadscrew, its gearing and its driver."""

    title: ClassVar[str] = "Stepper and driver"

    full_steps: int | None = line("stepper.full_steps")
    microsteps: int | None = line("stepper.microsteps")
    motor_teeth: int | None = line("stepper.motor_teeth")
    screw_teeth: int | None = line("stepper.screw_teeth")
    holding_torque_nm: float | None = line("stepper.holding_torque")
    rated_current_a: float | None = line("stepper.rated_current")
    driver_current_a: float | None = line("stepper.driver_current")
    driver_current_is: Literal["peak", "rms", "not known"] | None = line("stepper.driver_current_is")
    inductance_h: float | None = line("stepper.inductance")
    resistance_ohm: float | None = line("stepper.resistance")
    rotor_inertia_kg_m2: float | None = line("stepper.rotor_inertia")
    pulley_inertia_kg_m2: float | None = line("stepper.pulley_inertia")
    driver_supply_v: float | None = line("stepper.driver_supply")
    highest_speed_rpm: float | None = line("stepper.highest_speed")
    highest_pulse_rate_hz: float | None = line("stepper.highest_pulse_rate")

    @model_validator(mode="after")
    def _gearing_has_two_wheels(self):
        if (self.motor_teeth is None) != (self.screw_teeth is None):
            raise refused(
                "one wheel of the gearing between stepper and leadscrew is missing. Give motor_teeth and "
                "screw_teeth, or leave both out if the stepper sits on the screw."
            )
        return self


class Controller(Section):
    """The electronics that lead the stepper after the encoder."""

    title: ClassVar[str] = "Controller of the leadscrew"

    largest_numerator: int | None = line("controller.largest_numerator")
    largest_denominator: int | None = line("controller.largest_denominator")
    highest_pulse_rate_hz: float | None = line("controller.highest_pulse_rate")


class Carriage(Section):
    """What the leadscrew pushes."""

    title: ClassVar[str] = "Carriage"

    mass_kg: float | None = line("carriage.mass")
    drag_n: float | None = line("carriage.drag")
    backlash_mm: float | None = line("carriage.backlash")


class PowerFeed(Section):
    """The feed that runs by its own knob, without the spindle."""

    title: ClassVar[str] = "Power feed"

    slowest_mm_min: float | None = line("feed.slowest")
    fastest_mm_min: float | None = line("feed.fastest")


class Threading(Section):
    """How a threading pass is ended at a shoulder."""

    title: ClassVar[str] = "Threading to a shoulder"

    stopped_by: Literal["hand", "count"] | None = line("threading.stopped_by")
    reaction_s: float | None = line("threading.reaction")
    retract_s: float | None = line("threading.retract")
    clearance_mm: float | None = line("threading.clearance")
    tool_half_width_mm: float | None = line("threading.tool_half_width")
    first_cut_mm: float | None = line("threading.first_cut")


class ThreadToCut(Section):
    """A thread that the machine is to cut; there may be any number of them."""

    title: ClassVar[str] = "Threads to cut"

    name: str | None = line("thread.name")
    designation: str | None = line("thread.designation")
    pitch_mm: Fraction | None = line("thread.pitch")
    starts: int | None = line("thread.starts")
    hand: Hand | None = line("thread.hand")
    diameter_mm: float | None = line("thread.diameter")
    length_mm: float | None = line("thread.length")
    groove_mm: float | None = line("thread.groove")
    material: str | None = line("thread.material")
    tip_flat_mm: float | None = line("thread.tip_flat")
    tip_radius_mm: float | None = line("thread.tip_radius")
    wire_mm: float | None = line("thread.wire")

    @model_validator(mode="before")
    @classmethod
    def _designation_fills_in(cls, said):
        return with_what_it_is_called(said) if isinstance(said, Mapping) else said

    @model_validator(mode="after")
    def _designation_and_lines_agree(self):
        if told := contradiction(self):
            raise refused(told)
        return self

    @property
    def named(self) -> Thread | None:
        """The thread that its designation means; None without one, or where it is in one's own words."""
        return named_thread(self.designation) if self.designation else None

    @property
    def lead_mm(self) -> Fraction | None:
        """How far the nut moves in one turn: pitch times starts, exact; None while the pitch is not known."""
        return None if self.pitch_mm is None else self.pitch_mm * (self.starts or 1)

    @property
    def turning_lead_mm(self) -> Fraction | None:
        """The lead with the sign of its hand: below zero for a left-hand thread."""
        return None if self.lead_mm is None else -self.lead_mm if self.hand == "left" else self.lead_mm


class SteadyRest(Section):
    """The shop-made steady rest."""

    title: ClassVar[str] = "Steady rest"

    fingers: int | None = line("steady_rest.fingers")
    tips: Literal["bronze", "rollers", "other"] | None = line("steady_rest.tips")
    smallest_mm: float | None = line("steady_rest.smallest")
    largest_mm: float | None = line("steady_rest.largest")


class Target(Section):
    """The limits that the owner sets, each with a reason under ``[target.why]``."""

    title: ClassVar[str] = "Limits you set, and why"

    stop_time_s: float | None = line("target.stop_time")
    turns_to_stop: float | None = line("target.turns_to_stop")
    groove_mm: float | None = line("target.groove")
    speed_error_percent: float | None = line("target.speed_error")
    lead_error_ppm: float | None = line("target.lead_error")
    backlash_mm: float | None = line("target.backlash")
    torque_margin: float | None = line("target.torque_margin")
    taper_ppm: float | None = line("target.taper")
    runout_mm: float | None = line("target.runout")
    tram_ppm: float | None = line("target.tram")
    why: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _reasons_belong_to_limits(self):
        limits = [info.alias for info in type(self).model_fields.values() if info.alias]
        strangers = [key for key in self.why if key not in limits]
        if strangers:
            raise refused(
                f"there is a reason for {', '.join(strangers)}, which is no limit. "
                f"The limits are: {', '.join(limits)}."
            )
        return self
