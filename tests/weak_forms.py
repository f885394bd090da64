"""The weak forms that the matrices and loads of fea stand for, as scikit-fem assembles them."""

from skfem import BilinearForm, LinearForm
from skfem.helpers import ddot, div, dot, eye, grad, sym_grad, trace


@BilinearForm
def internal_work(u, v, w):
    """Virtual work of the stress, a(u, v) = ∫ σ(u) : ε(v) dA; w.lam, w.mu are sums of t λ, t μ."""
    strain = sym_grad(u)
    return ddot(w.lam * eye(trace(strain), 2) + 2 * w.mu * strain, sym_grad(v))


@LinearForm
def thermal_work(v, w):
    """Virtual work of the thermal stress, L(v) = ∫ s div v dA; w.s sums t E α (T - 20)/(1 - ν)."""
    return w.s * div(v)


@BilinearForm
def conduction(u, v, w):
    """Heat that flows down the gradient, ∫ k ∇T · ∇v dA; w.k is the sum of t k."""
    return w.k * dot(grad(u), grad(v))


@BilinearForm
def film_loss(u, v, w):
    """Heat through a film from metal at T to 0 degC, ∫ h T v dF; w.h is h, times depth on edges."""
    return w.h * u * v
