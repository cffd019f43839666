"""Steps from one form of the tables to the next, run by `rig.records.migrate`.

A new step is a new file in `versions`: copy the newest, set `revision` and `down_revision`, write
`upgrade`. Steps only go forward: going back would drop what a class has done.
"""
