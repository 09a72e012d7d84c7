#pragma once
// One labelled picture a stage, of what the stage saw: so that a failure can be understood by looking.

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "digitizer/session.h"

namespace islebook {

struct StagePicture {
  std::string name;  // "1-page", "2-ridges", "3-print", "4-axes", "5-curves", "6-roles"
  cv::Mat3b picture;
};

// Of the stages that are done.
std::vector<StagePicture> DrawStages(const Sheet& sheet, const StageResults& stages);

// The same as PNG files, for doors that know no pictures: each is drawn, handed over and let go before the next.
// `keep` returns false to stop.
void DrawStagePngs(const Sheet& sheet, const StageResults& stages,
                   const std::function<bool(const std::string& name, const std::vector<std::uint8_t>& png)>& keep);

}  // namespace islebook
