#include "ui/desktop/help/help_pane.h"

#include <algorithm>
#include <functional>
#include <utility>

#include <QAction>
#include <QApplication>
#include <QEvent>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLineEdit>
#include <QSignalBlocker>
#include <QTextBrowser>
#include <QToolButton>
#include <QVBoxLayout>

#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/desk_icon.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/language.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/room.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr int kWidth = 460, kLeastWidth = 320;  // px

QString StyleOf(const DeskLook& look) {
  return QStringLiteral(
             "h1 { font-size: large; margin: 2px 0 8px 0; } h2 { font-size: medium; margin: 16px 0 4px 0; } p { margin: 0 0 7px 0; } li { margin: 0 "
             "0 "
             "4px 0; }"
             "a { color: %1; } .faint { color: %2; } .caution { background: %3; } th { color: %2; } code { font-family: \"DejaVu Sans Mono\"; }")
      .arg(look.chart.sea_print.name(), look.chart.faint_ink.name(), Mix(look.chart.oxide, look.chart.paper, 0.14).name());
}

}  // namespace

// Takes its pages from the program instead of a file.
class HelpBrowser : public QTextBrowser {
 public:
  HelpBrowser(std::function<QString(const QString&)> page, QWidget* parent) : QTextBrowser(parent), page_(std::move(page)) {}

 protected:
  QVariant loadResource(int type, const QUrl& name) override {
    return type == QTextDocument::HtmlResource ? QVariant(page_(name.path())) : QTextBrowser::loadResource(type, name);
  }

 private:
  std::function<QString(const QString&)> page_;
};

HelpPane::HelpPane(MainWindow& window, Workplace& workplace)
    : QFrame(window.centralWidget()),
      window_(window),
      workplace_(workplace),
      words_(new QLineEdit(this)),
      browser_(new HelpBrowser([this](const QString& name) { return PageText(name); }, this)) {
  setObjectName("help_pane");
  setAccessibleName(tr("Help"));
  hide();
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(10, 8, 10, 10);
  rows->setSpacing(6);
  auto* top = new QHBoxLayout;
  top->setSpacing(4);
  const auto button = [&](const QString& words, const char* id, const QString& tip) {
    auto* made = new QToolButton(this);
    made->setText(words);
    made->setObjectName(id);
    made->setToolTip(tip);
    top->addWidget(made);
    return made;
  };
  QToolButton* back = button(tr("Back"), "help_back", tr("The page before  [Alt+Left]"));
  back->setShortcut(QKeySequence("Alt+Left"));
  QToolButton* contents = button(tr("Contents"), "help_contents", tr("All pages"));
  words_->setObjectName("help_words");
  words_->setAccessibleName(tr("Search the help"));
  words_->setPlaceholderText(tr("Search the help"));
  words_->setClearButtonEnabled(true);
  top->addWidget(words_, 1);
  QToolButton* close = button(tr("Close"), "help_close", tr("Close  [Esc]"));
  rows->addLayout(top);
  browser_->setObjectName("help_text");
  browser_->setAccessibleName(tr("The help page"));
  browser_->setFrameShape(QFrame::NoFrame);
  browser_->setOpenLinks(false);
  rows->addWidget(browser_, 1);

  connect(back, &QToolButton::clicked, browser_, &QTextBrowser::backward);
  connect(browser_, &QTextBrowser::backwardAvailable, back, &QToolButton::setEnabled);
  back->setEnabled(false);
  connect(contents, &QToolButton::clicked, this, [this] { OpenAt(QStringLiteral("index.html")); });
  connect(browser_, &QTextBrowser::anchorClicked, this, [this](const QUrl& link) { OpenAt(link.toString()); });
  connect(words_, &QLineEdit::textChanged, this, &HelpPane::Find);
  connect(close, &QToolButton::clicked, this, &HelpPane::Close);

  QAction* help = MakeDeed(&window, {"window.help", tr("Help"), QKeySequence("F1"), tr("islebook COMMAND --help")});
  help->setIcon(DeskIcon(QStringLiteral("help"), workplace_.look()));
  connect(help, &QAction::triggered, this, [this] {
    if (isVisible())
      Close();
    else
      OpenAt(PlaceOfKeyboard());
  });
  window.AddToFoot(help);
  connect(&workplace_, &Workplace::LookChanged, this, [this, help] {
    help->setIcon(DeskIcon(QStringLiteral("help"), workplace_.look()));
    TakeLook();
  });
  TakeLook();
  window.centralWidget()->installEventFilter(this);
}

QString HelpPane::PageText(const QString& name) const {
  const QString language = SpokenLanguage(workplace_.language());
  if (name == QLatin1String("keys.html")) return HelpOnKeys(DeedsWithin(&window_), language);
  return HelpPage(name, language);
}

QString HelpPane::PlaceOfKeyboard() const {
  for (const QWidget* widget = QApplication::focusWidget(); widget != nullptr; widget = widget->parentWidget())
    if (const QString section = HelpAbout(widget->objectName()); !section.isEmpty()) return section;
  return window_.shown() != nullptr ? window_.shown()->Icon() + QStringLiteral(".html") : QStringLiteral("index.html");
}

void HelpPane::OpenAt(const QString& place) {
  if (!isVisible()) {
    before_ = QApplication::focusWidget();
    if (before_ != nullptr) connect(before_, &QObject::destroyed, this, [this] { before_ = nullptr; });
    Lay();
    show();
    raise();
  }
  const QUrl url(place);
  browser_->setSource(url);
  if (std::exchange(found_, false)) {  // what was found stands there instead of the page
    const QSignalBlocker quiet(words_);
    words_->clear();
    browser_->reload();
    if (url.hasFragment()) browser_->scrollToAnchor(url.fragment());
  }
  browser_->setFocus();
}

void HelpPane::Close() {
  hide();
  if (before_ != nullptr && before_->isVisible()) before_->setFocus();
  before_ = nullptr;
}

QString HelpPane::place() const { return browser_->source().toString(); }

void HelpPane::Find(const QString& words) {
  found_ = !words.simplified().isEmpty();
  if (!found_) return browser_->reload();
  std::vector<HelpSection> sections;
  for (const QString& name : HelpPageNames()) {
    const std::vector<HelpSection> more = SectionsOf(name, PageText(name));
    sections.insert(sections.end(), more.begin(), more.end());
  }
  browser_->setHtml(FoundPage(words, sections));
}

// Left of the facts, so that what they say can be read along; where that is too narrow, over them.
void HelpPane::Lay() {
  const QWidget* all = window_.centralWidget();
  int right = all->width(), bottom = all->height();
  if (const Room* room = window_.shown()) {
    const QPoint facts = room->facts().mapTo(all, QPoint(0, 0));
    bottom = facts.y() + room->facts().height();
    if (facts.x() - room->mapTo(all, QPoint(0, 0)).x() >= kLeastWidth) right = facts.x();
  }
  const int width = std::clamp(right - 120, kLeastWidth, kWidth);
  setGeometry(right - width, 0, width, bottom);
}

void HelpPane::TakeLook() {
  const DeskLook& look = workplace_.look();
  setStyleSheet(
      QStringLiteral("QFrame#help_pane { background: %1; border: none; border-left: 2px solid %2; } QTextBrowser#help_text { border: none; }")
          .arg(look.chart.paper.name(), look.chart.ink.name()));
  browser_->document()->setDefaultStyleSheet(StyleOf(look));
  if (isVisible()) browser_->reload();
}

bool HelpPane::eventFilter(QObject* watched, QEvent* event) {
  if (event->type() == QEvent::Resize && isVisible()) Lay();
  return QFrame::eventFilter(watched, event);
}

void HelpPane::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Escape) return Close();
  QFrame::keyPressEvent(event);
}

}  // namespace islebook
