"""
Applying what tablets send.

`operations` holds the words, `batch` the order and the bookkeeping, `acts` one small function for
each kind: `session_acts`, `tray_acts`, `point_acts`, `anaesthesia_acts`,
`occlusion_acts`. What an act changes is
done by the services of `records.sessions`.
"""
