#!/bin/sh
# Photograph pieces of the demo: tools/render/photograph.sh WORK OUT [NAME...], a NAME being <piece>/<view>; all without any.
# PYTHON runs the layout (the project's environment), BLENDER one that has the extra `render`. A picture that is already in OUT is left.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
python=${PYTHON:-$here/../../.venv/bin/python}
blender=${BLENDER:-$python}
work=$1 out=$2
shift 2
mkdir -p "$work" "$out"
"$python" "$here/bar_print.py" "$work/bar.png"
[ $# -gt 0 ] || set -- $("$python" -c "import json,sys; print(*(f\"{p['piece']}/{v['name']}\" for p in json.load(open(sys.argv[1]))['pieces'] for v in p['views']))" "$here/recipes.json")
for name in "$@"; do
    piece=${name%/*} view=${name#*/} both=${name%/*}-${name#*/}
    [ -e "$out/$both.json" ] && continue
    "$python" "$here/lay.py" "$here/recipes.json" "$piece" "$view" "$work" || { echo "$name failed" >&2; continue; }
    nice -n 19 "$blender" "$here/shoot.py" "$work/$both.npz" "$work/$both.png" "$work/$both-mask.png" "${SAMPLES:-28}" >"$work/$both.log" 2>&1 || { echo "$name failed" >&2; continue; }
    "$python" "$here/finish.py" "$work" "$both" "$out"
    rm -f "$work/$both.npz"
done
