#pragma once
// The answers of `ask` for people and for programs, a piece at a time. Internal to ui/cli.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/answers/answer_text.h"
#include "mapstore/answers/askable_map.h"

namespace islebook {

enum class AnswerForm { kText, kJson, kCsv };

// Add answers in order, print what Take() gives whenever there is enough of it, and End() at last. Holds a page of text, never the whole.
class AnswerPrinter {
 public:
  AnswerPrinter(const AskableMap& map, AnswerForm form);
  void Add(const MapAnswer& answer);
  std::string Take();
  std::string End();

 private:
  static constexpr std::size_t kRowsInTable = 1000;  // then the columns are measured anew
  static constexpr std::size_t kPointsInRemark = 8;
  static constexpr std::size_t kMostRemarks = 40;
  struct RemarkLine {
    std::string words;
    std::vector<std::size_t> points;
    std::size_t count = 0;
  };
  void Remark(const std::string& words);
  void Details(const AnswerDetails& details);
  void EndTable();

  const AskableMap& map_;
  AnswerForm form_;
  AnswerJson json_;
  std::size_t count_ = 0, further_remarks_ = 0;
  std::vector<std::vector<std::string>> rows_;
  std::vector<RemarkLine> remarks_;
  std::string details_;  // of the rows in the table, a line or two a point
  std::string pending_;
};

}  // namespace islebook
