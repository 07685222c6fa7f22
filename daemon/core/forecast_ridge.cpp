#include "daemon/core/forecast_ridge.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/plain_bytes.hpp"

namespace setwell::core {

namespace {

using Square = std::array<Features, kFeatures>;

/// A feature that never moved must not make the sums singular.
constexpr double kLeastSquare = 1e-4;

/// Solves m·x = b for a symmetric positive m, by Cholesky's factors.
Features solved(Square m, Features b) {
  for (std::size_t i = 0; i < kFeatures; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double sum = m[i][j];
      for (std::size_t k = 0; k < j; ++k)
        sum -= m[i][k] * m[j][k];
      m[i][j] = i == j ? std::sqrt(std::max(sum, 1e-12)) : sum / m[j][j];
    }
  }
  for (std::size_t i = 0; i < kFeatures; ++i) {
    for (std::size_t k = 0; k < i; ++k)
      b[i] -= m[i][k] * b[k];
    b[i] /= m[i][i];
  }
  for (std::size_t i = kFeatures; i-- > 0;) {
    for (std::size_t k = i + 1; k < kFeatures; ++k)
      b[i] -= m[k][i] * b[k];
    b[i] /= m[i][i];
  }
  return b;
}

}  // namespace

void RidgeSums::fade(double factor) {
  for (float& value : squares_)
    value = static_cast<float>(value * factor);
  for (float& value : products_)
    value = static_cast<float>(value * factor);
}

void RidgeSums::take(const Features& x, double y, double weight) {
  std::size_t pair = 0;
  for (std::size_t i = 0; i < kFeatures; ++i) {
    for (std::size_t j = 0; j <= i; ++j, ++pair)
      squares_[pair] = static_cast<float>(squares_[pair] + weight * x[i] * x[j]);
    products_[i] = static_cast<float>(products_[i] + weight * x[i] * y);
  }
}

Features RidgeSums::solve(const Features& toward, double strength) const {
  Square m{};
  std::size_t pair = 0;
  for (std::size_t i = 0; i < kFeatures; ++i) {
    for (std::size_t j = 0; j <= i; ++j, ++pair)
      m[i][j] = m[j][i] = squares_[pair];
  }
  const double cases = std::max(1.0, m[kConstantFeature][kConstantFeature]);
  Features b{};
  for (std::size_t i = 0; i < kFeatures; ++i)
    b[i] = products_[i] - dot(m[i], toward);
  for (std::size_t i = 0; i < kFeatures; ++i)
    m[i][i] += strength * std::max(m[i][i] / cases, kLeastSquare);
  Features out = solved(m, b);
  for (std::size_t i = 0; i < kFeatures; ++i)
    out[i] += toward[i];
  return out;
}

void RidgeSums::save(std::string& bytes) const {
  put_bytes(bytes, squares_);
  put_bytes(bytes, products_);
}

bool RidgeSums::load(std::string_view& bytes) {
  return take_bytes(bytes, squares_) && take_bytes(bytes, products_);
}

}  // namespace setwell::core
