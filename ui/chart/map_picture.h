#pragma once
// A map as a small picture without words, to be known again by in a list.

#include <QRectF>

#include "mapstore/map/performance_map.h"

class QPainter;

namespace islebook {

// Curves in their trade's signs, over everything below them. A map without axes or curves is an empty frame. Any thread that has a painter may draw.
void DrawMapPicture(QPainter& painter, const QRectF& area, const PerformanceMap& map, bool night);

}  // namespace islebook
