#!/usr/bin/env bash
# Sets up, builds, and runs the main job over the sample maps: a scan and a photograph become calibrated curves, go on a shelf, and answer
# whether operating points lie on the map and how far from its edges. A second run only does what changed.
# Usage: bash sample_maps/demo.sh        Results: build/demo (or a folder in /tmp if that cannot be written)
set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1

case "${1:-}" in
  "") ;;
  -h|--help) sed -n '2,4s/^# //p' "$0"; exit 0 ;;
  *) echo "demo: unknown argument $1; usage: bash sample_maps/demo.sh" >&2; exit 2 ;;
esac

problems=()
step() { printf '\n== %s\n' "$*"; }

# run WHAT COMMAND...: shows the command; exit codes 0 (done) and 4 (done, something needs a person's eye) are both good.
run() {
  local what=$1 code word
  shift
  printf '   $ islebook'
  for word in "${@:2}"; do case $word in *" "*) printf ' "%s"' "$word" ;; *) printf ' %s' "$word" ;; esac; done
  printf '\n'
  "$@"
  code=$?
  if [ $code -ne 0 ] && [ $code -ne 4 ]; then
    problems+=("$what (exit code $code)")
    return 1
  fi
}

step "Debian packages (.ci/packages.txt)"
bash .ci/setup.sh || exit 1

step "Build: build/release"
mkdir -p build || { echo "demo: this folder cannot be written; copy the repository to a place of your own and run it there." >&2; exit 1; }
cmake --preset release >build/configure.log 2>&1 || { cat build/configure.log >&2; exit 1; }
cmake --build --preset release --target islebook || exit 1
islebook=build/release/bin/islebook

out=build/demo
rm -rf "$out" 2>/dev/null
mkdir -p "$out" 2>/dev/null || out=$(mktemp -d)
export ISLEBOOK_SHELF=$out/shelf.db OMP_THREAD_LIMIT=1
samples=sample_maps

step "From pictures to curves: a scan, a photograph, a turbine"
run "digitize" "$islebook" digitize $samples/alder-44/alder-44-scan.jpg $samples/birch-52/birch-52-photo.jpg $samples/yew-70/yew-70-scan.jpg --out "$out" --proof

step "On the shelf"
for map in alder-44-scan birch-52-photo yew-70-scan; do
  [ -f "$out/$map.map.json" ] || { problems+=("$map gave no map document"); continue; }
  name=${map%-*}
  run "shelf add" "$islebook" shelf add "$out/$map.map.json" --name "$name" --sheet "$samples/$name/$map.jpg" --author demo --message "Digitized from the ${map##*-}"
done
run "shelf list" "$islebook" shelf list
run "shelf verify" "$islebook" shelf verify

step "Is the operating point on the map, and how far from its edges?"
run "ask" "$islebook" ask birch-52 --flow "0.23 kg/s" --pressure-ratio 2.35
echo "   The same for a list of points, as a program would ask:"
if run "ask --json" "$islebook" ask birch-52 --points $samples/cases/birch-52-points.csv --json >"$out/birch-52-answers.json"; then echo "   answers: $out/birch-52-answers.json"; fi

step "The map as a clean chart, with those points on it"
run "chart" "$islebook" chart birch-52 --points $samples/cases/birch-52-points.csv --png "$out/birch-52-chart.png" --svg "$out/birch-52-chart.svg" --pdf "$out/birch-52-chart.pdf"
run "chart" "$islebook" chart yew-70 --png "$out/yew-70-chart.png" --night

step "An engine on the bench: $samples/cases/lake-ferry.toml"
run "bench" "$islebook" bench $samples/cases/lake-ferry.toml --png "$out/lake-ferry.png"

step "In one file for a colleague: the map, its history and its sheet, signed with a key of the demo's own; and as a spreadsheet to be corrected"
run "parcel key" "$islebook" parcel key --name "Tarnside Engine Works" --keys "$out/keys" --out "$out/tarnside.key"
run "parcel pack" "$islebook" parcel pack birch-52 --keys "$out/keys" --out "$out/birch-52-parcel.zip"
run "parcel look" "$islebook" parcel look "$out/birch-52-parcel.zip" --keys "$out/keys"
run "export" "$islebook" export birch-52 --spreadsheet "$out/birch-52.xlsx" --curves "$out/birch-52-curves.csv"

step "Where everything is: $(cd "$out" && pwd)"
cat <<TEXT
   *.proof.png          the sheets with the recovered curves drawn over them; numbered flags are doubts
   *.map.json           the calibrated curves in the units that the sheets print
   birch-52-chart.*     the chart with the points (png, svg, pdf)
   birch-52-parcel.zip  the map in one file for a colleague; summary.html in it is for a browser
   birch-52.xlsx        its curves, to be corrected and imported again (islebook import)
   lake-ferry.png       the engine's operating points on the map
   shelf.db             the shelf; try: ISLEBOOK_SHELF=$ISLEBOOK_SHELF build/release/bin/islebook shelf log birch-52
TEXT
if [ ${#problems[@]} -gt 0 ]; then
  printf '\ndemo: something failed: %s\n' "${problems[*]}" >&2
  exit 1
fi
