#pragma once
// Tails of graph lines: how far an end reaches that got lost in a crowd. Internal to curves.

#include <vector>

#include "digitizer/curves/graph_tracks.h"

namespace islebook {

// What an end has run unseen is kept only as far as it ends where solid lines of the chart end.
void SettleTails(std::vector<LineTrack>& tracks, const GraphField& field);

// Dashed lines of one family have similar shapes: an end that got lost in the crowd is carried on along a neighbor's shape, raised and stretched to fit
// where both are known, as long as there is ink. False when nothing could be added.
bool GuideByNeighbors(std::vector<LineTrack>& tracks, GraphField& field);

// Where all solid lines end at one place of the x axis, dashed ends that got lost shortly before it are carried on to it, as long as there is ink.
void ReachCommonEnds(std::vector<LineTrack>& tracks, GraphField& field);

// A solid line that has run into another at a shallow angle, and is one blot with it from there on, ends where that one ends.
void ReachSharedEnds(std::vector<LineTrack>& tracks, const GraphField& field);

// Two pieces of one line that run on each other for a while, one going on to the left and the other to the right, become one.
void MergeOverlaps(std::vector<Path>& paths, double within_px);

// Takes out short stretches where a line runs back over itself, as pieces that were laid over each other do.
void DropBacktracks(Path& path);

// What lies on other, longer lines for most of its length is a part of them.
void DropCoveredLines(std::vector<Path>& paths, double within_px);

}  // namespace islebook
