-- Version 4: erasing.

-- Why a strand is not here any more: 0 it is; 1 all of it was erased, and only
-- the erasure is left; 2 it was given up on this device.
ALTER TABLE strand ADD COLUMN gone INTEGER NOT NULL DEFAULT 0;
