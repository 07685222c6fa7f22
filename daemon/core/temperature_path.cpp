#include "daemon/core/temperature_path.hpp"

namespace setwell::core {
namespace {

/// The kinks strictly inside a piece, as fractions of the way, rising.
std::vector<double> cuts_of(const PathPiece& piece, std::span<const double> kinks) {
  std::vector<double> cuts;
  const double span = piece.to.celsius - piece.from.celsius;
  for (double kink : kinks) {
    const double f = span == 0.0 ? 0.0 : (kink - piece.from.celsius) / span;
    if (f > 0.0 && f < 1.0) cuts.push_back(f);
  }
  std::sort(cuts.begin(), cuts.end());
  return cuts;
}

PathPoint point_on(const PathPiece& piece, double f) {
  return {piece.from.at_s + (piece.to.at_s - piece.from.at_s) * f,
          piece.from.celsius + (piece.to.celsius - piece.from.celsius) * f};
}

}  // namespace

std::vector<PathPiece> pieces_of(std::span<const PathPoint> path, std::span<const double> kinks) {
  std::vector<PathPiece> pieces;
  for (std::size_t i = 0; i + 1 < path.size(); ++i) {
    const PathPiece whole{path[i], path[i + 1]};
    if (!(whole.to.at_s > whole.from.at_s)) continue;
    PathPoint from = whole.from;
    for (double f : cuts_of(whole, kinks)) {
      const PathPoint to = point_on(whole, f);
      pieces.push_back({from, to});
      from = to;
    }
    pieces.push_back({from, whole.to});
  }
  return pieces;
}

std::vector<PathPoint> path_until(std::span<const PathPoint> path, double at_s) {
  std::vector<PathPoint> head;
  for (std::size_t i = 0; i < path.size(); ++i) {
    if (path[i].at_s <= at_s) {
      head.push_back(path[i]);
      continue;
    }
    if (i > 0) {
      const double f = (at_s - path[i - 1].at_s) / (path[i].at_s - path[i - 1].at_s);
      if (f > 0.0) head.push_back(point_on({path[i - 1], path[i]}, f));
    }
    break;
  }
  return head;
}

}  // namespace setwell::core
