#pragma once
// Widgets side by side, in as many lines as the width makes necessary: for a bar of deeds in a window of any width.

#include <vector>

#include <QLayout>

namespace islebook {

class FlowLayout : public QLayout {
 public:
  explicit FlowLayout(QWidget* parent = nullptr) : QLayout(parent) {}
  ~FlowLayout() override;

  void addItem(QLayoutItem* item) override { items_.push_back(item); }
  int count() const override { return static_cast<int>(items_.size()); }
  QLayoutItem* itemAt(int index) const override;
  QLayoutItem* takeAt(int index) override;
  Qt::Orientations expandingDirections() const override { return {}; }
  bool hasHeightForWidth() const override { return true; }
  int heightForWidth(int width) const override { return Place(QRect(0, 0, width, 0), false); }
  void setGeometry(const QRect& rect) override;
  QSize sizeHint() const override;
  QSize minimumSize() const override;

 private:
  // Returns the height that it takes.
  int Place(const QRect& rect, bool move) const;

  std::vector<QLayoutItem*> items_;
};

}  // namespace islebook
