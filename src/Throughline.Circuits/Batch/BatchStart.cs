namespace Throughline.Circuits;

/// <summary>Where the iteration of nonlinear parts begins. A solved lane is the same from either to some 1e-12; bit for bit it is only the same from the same.</summary>
public enum BatchStart
{
    /// <summary>At the program's nominal point: the answer depends on the slots alone.</summary>
    Nominal,

    /// <summary>Where the lane's last solve ended, or at the nominal point when that did not settle.</summary>
    Last,
}
