#pragma once
// The column on the right of a room. Its top line always says the most important thing; below stand sections with a heading each.

#include <QFrame>

class QLabel;
class QVBoxLayout;

namespace islebook {

class FactsColumn : public QFrame {
  Q_OBJECT

 public:
  explicit FactsColumn(QWidget* parent);

  // `limit`: it is about an edge or an error, said in words and in the limit's color.
  void SetTopLine(const QString& words, bool limit = false);
  QString TopLine() const;

  // Adds a section below those that are there; `stretch` for one that takes the room that is left.
  void AddSection(const QString& heading, QWidget* content, int stretch = 0);

 private:
  QLabel* top_line_;
  QVBoxLayout* sections_;
};

}  // namespace islebook
