namespace Throughline.Firmware;

/// <summary>What a calibration has found.</summary>
/// <param name="Refusal">None when it is accepted.</param>
/// <param name="Slope">To be shown, 0.1 % of the theoretical one; 0 when the standards are too near or incomplete. Held to 0 .. 200 %.</param>
/// <param name="Zero">To be shown, in steps of <see cref="CalibrationDesign.ZeroStep"/>; 0 as before.</param>
/// <param name="Found">What would be kept, refused or not; zero as before.</param>
public readonly record struct CalibrationResult(CalibrationRefusal Refusal, long Slope, long Zero, CalibrationKept Found)
{
    public bool IsAccepted => Refusal == CalibrationRefusal.None;
}
