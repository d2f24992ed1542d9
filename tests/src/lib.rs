//! Checks against things outside the project.
