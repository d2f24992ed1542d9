//! Names of what can be read of a ball.

/// The name of a figure by its key on the screen.
pub fn name(key: &str) -> &'static str {
    match key.trim_start_matches("reading.") {
        "head_speed" => "Head speed",
        "ball_speed" => "Ball speed",
        "launch" => "Launch, up from the ground",
        "start" => "Start, right of the target",
        "backspin" => "Backspin",
        "sidespin" => "Sidespin, to the right",
        "carry" => "Carry",
        "side" => "Ended right of the target line",
        "curve" => "Ended right of the start line",
        "path" => "Path, right of the target",
        "face_angle" => "Face, right of the target",
        "attack" => "Attack, up",
        "dynamic_loft" => "Loft at impact",
        _ => "Figure",
    }
}
