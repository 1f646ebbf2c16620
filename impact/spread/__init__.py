"""How far off a prediction may be: from the spread of its inputs, and from the models' own error.

`inputs` says what may lie elsewhere than the design says, and `moving` how; `modal` and `expansion`
move each input to the ends of its range on the modes already solved, `by_path` in the energy
balance, `together` all of them at once on some floors (`elimination` and `condensed` leave the
small systems that this takes, `variants` and `states` hold what changes in them and in what is left
out); `samples` draws whole floors at random; `model_error` holds what validation has shown of the
models themselves.
"""
