"""The face atlas: landmarks, regions, drawing, marks and cautions, in millimetres."""
