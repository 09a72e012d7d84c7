#pragma once
// The window's own icons: SVG drawings in ink (icons/), recolored for day and night.

#include <QIcon>
#include <QString>

namespace islebook {

struct DeskLook;

// `name`: of a file in icons/, without its end. A null icon where there is none.
QIcon DeskIcon(const QString& name, const DeskLook& look);

}  // namespace islebook
