"""What an input is called before a person, and what one standard deviation more of it means."""

from __future__ import annotations

# What varies from launch to launch: the number drawn is this launch's own deviation, not the scatter.
THIS_LAUNCH = {
    "power.start_delay_scatter": "a motor start slower than its median",
    "thrower.release_speed_scatter": "a faster throw than this person's mean",
    "thrower.release_path_scatter": "a steeper throw than this person's mean",
    "thrower.release_pitch_scatter": "a nose higher at release than usual",
    "thrower.release_bank_scatter": "a bank further to the right at release than usual",
    "thrower.release_heading_scatter": "a throw further to the right than usual",
    "thrower.release_height_scatter": "a release higher than usual",
    "thrower.tumble_roll_scatter": "a release that rolls to the right",
    "thrower.tumble_pitch_scatter": "a release that turns nose-up",
    "thrower.tumble_yaw_scatter": "a release that yaws to the right",
    "thrower.carry_pitch_scatter": "a carry with the nose higher than usual",
    "thrower.hand_lag_scatter": "a hand that lags more than usual",
    "thrower.hand_deceleration_scatter": "a hand that stops sooner than usual",
    "thrower.hold_time_scatter": "a longer hold than usual",
    "thrower.slip": "a grip that slips",
    "line.stretch_scatter": "a line stretched further than usual",
    "line.returned_share_scatter": "a line that returns more than usual",
    "line.pitch_scatter": "a nose higher off the line than usual",
    "line.bank_scatter": "a bank further to the right off the line than usual",
    "line.stuck": "a line that sticks to the hook",
}
# What no card asks for; the tool guesses it.
OWN_GUESS = {
    "airframe.surfaces.pitch_effect": "elevators that do more",
    "airframe.surfaces.roll_effect": "ailerons that do more",
    "airframe.warp": "a wing warped towards a roll to the right",
    "airframe.stall_twist": "a wing that drops to the right at the stall",
    "airframe.board.gyro_bias": "gyros that drift nose-up and to the right",
    "power.thrust": "pull of the propeller",
    "power.torque": "torque that the propeller takes",
}
# These happen when the number drawn is low, so more of it is less of them.
WHEN_LOW = frozenset({"thrower.slip", "line.stuck"})
NO_CARD = " (the tool's own guess)"
CARD_SAYS = frozenset({"power.thrust", "power.torque"})


def plain_name(name: str) -> str:
    """Return what more of an input is, in words: "a faster throw than this person's mean"."""
    if name in THIS_LAUNCH:
        return THIS_LAUNCH[name]
    if name in OWN_GUESS:
        return OWN_GUESS[name] + ("" if name in CARD_SAYS else NO_CARD)
    return name.replace("_", " ").replace(".", ", ")
